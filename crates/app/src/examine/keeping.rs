//! Where the examination is kept between visits, and what to do when that fails.
//!
//! Every examination has a slot of its own, named by its seed, and every tab remembers which slot is its own, so a reload
//! goes on where it was and two tabs keep two examinations. A copied tab remembers the same slot: before each write the
//! slot is read, and when somebody else has written to it this tab goes on in a new one. Nothing that cannot be read is
//! ever written over: it is put aside under another name first.

use course::examination::{Kept, NotThisVersion, ReadBack, read, write};
use course::moment::Moment;

use super::{Aside, Examine, Note};

/// Start of the names of slots.
const SLOT: &str = "examination.";

/// Start of the names under which what could not be read is put aside.
const ASIDE: &str = "examination-aside.";

/// A finished examination is cleared away when its last picture is older than this, ms: a day.
const CLEARED_AFTER_MS: i64 = 86_400_000;

/// Why nothing can be kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refusal {
    /// There is no more room.
    Full,
    /// The browser allows no storage here.
    Blocked,
}

/// Something that keeps texts under names: the browser's storage.
pub trait Shelf {
    /// The text under a name.
    ///
    /// # Errors
    ///
    /// [`Refusal`] when nothing can be read.
    fn get(&self, name: &str) -> Result<Option<String>, Refusal>;
    /// Keeps a text under a name.
    ///
    /// # Errors
    ///
    /// [`Refusal`] when it is not kept.
    fn put(&self, name: &str, text: &str) -> Result<(), Refusal>;
    /// Takes a text away.
    fn clear(&self, name: &str);
    /// All names.
    fn names(&self) -> Vec<String>;
    /// The name that this tab remembers.
    fn own(&self) -> Option<String>;
    /// Makes this tab remember a name.
    fn set_own(&self, name: &str);
}

/// Keeps one tab's examination on a shelf.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Keeper {
    slot: String,
    /// What this tab knows to be in the slot.
    known: Option<String>,
    /// Seed of the next slot, should one be needed.
    spare: u64,
    told: Option<Note>,
}

fn slot_of(seed: u64) -> String {
    format!("{SLOT}{seed:016x}")
}

/// Another seed (the step of the `SplitMix64` generator, from memory: any odd constant would do).
fn next_seed(seed: u64) -> u64 {
    seed.wrapping_add(0x9E37_79B9_7F4A_7C15)
}

/// Nothing that somebody would miss.
fn is_blank(kept: &Kept) -> bool {
    kept.pictures.is_empty()
        && kept.line.is_empty()
        && kept.held.is_none()
        && kept.request.is_none()
        && !kept.finished
}

fn last_moment(kept: &Kept) -> Option<Moment> {
    kept.pictures
        .iter()
        .map(|picture| picture.at)
        .max_by_key(|at| at.unix_ms)
}

impl Keeper {
    /// Opens the shelf: takes up this tab's work, or begins anew with `seed`, which has to be random. Gives what is to
    /// happen in the application.
    pub fn open(shelf: &impl Shelf, seed: u64, now: Moment) -> (Self, Vec<Examine>) {
        let mut keeper = Self {
            slot: slot_of(seed),
            known: None,
            spare: next_seed(seed),
            told: None,
        };
        let mut todo = vec![Examine::Reseed(seed)];
        if let Some(own) = shelf.own().filter(|own| own.starts_with(SLOT)) {
            todo.extend(keeper.take_up(shelf, &own, now));
        }
        if keeper.known.is_none() {
            clear_away(shelf, now);
            todo.extend(earlier(shelf));
        }
        let aside = asides(shelf, now);
        if !aside.is_empty() {
            todo.push(Examine::PutAside(aside));
        }
        (keeper, todo)
    }

    /// Takes up the work in a slot. What cannot be read is put aside first.
    pub fn take_up(&mut self, shelf: &impl Shelf, slot: &str, now: Moment) -> Vec<Examine> {
        let Ok(Some(text)) = shelf.get(slot) else {
            return Vec::new();
        };
        match read(&text) {
            Ok(ReadBack { kept, damaged: 0 }) => {
                slot.clone_into(&mut self.slot);
                self.known = Some(text);
                shelf.set_own(slot);
                vec![Examine::BringBack(Box::new(kept))]
            }
            Ok(ReadBack { mut kept, damaged }) => {
                let aside = put_aside(shelf, &text, now);
                if aside.is_some() {
                    slot.clone_into(&mut self.slot);
                    self.known = Some(text);
                    shelf.set_own(slot);
                } else {
                    // The slot stays as it is; work goes on in this tab's new one.
                    kept.seed = self.seed();
                }
                let note = Note::Damaged {
                    lines: damaged,
                    aside: Some(aside.unwrap_or_else(|| slot.to_owned())),
                };
                vec![Examine::BringBack(Box::new(kept)), Examine::Tell(note)]
            }
            Err(NotThisVersion) => {
                let aside = put_aside(shelf, &text, now);
                if aside.is_some() {
                    shelf.clear(slot);
                }
                let note = Note::Damaged {
                    lines: 0,
                    aside: Some(aside.unwrap_or_else(|| slot.to_owned())),
                };
                vec![Examine::Tell(note)]
            }
        }
    }

    fn seed(&self) -> u64 {
        let digits = self.slot.strip_prefix(SLOT).unwrap_or_default();
        u64::from_str_radix(digits, 16).unwrap_or(self.spare)
    }

    /// Keeps `kept`, if it differs from what is there. Gives what is to happen in the application.
    pub fn keep(&mut self, shelf: &impl Shelf, kept: &Kept) -> Vec<Examine> {
        let slot = slot_of(kept.seed);
        if slot != self.slot {
            // Another examination has begun. A finished one has been seen to its end.
            let finished = |text: &String| read(text).is_ok_and(|back| back.kept.finished);
            if self.known.as_ref().is_some_and(finished) {
                shelf.clear(&self.slot);
            }
            self.slot = slot;
            self.known = None;
        }
        let text = (!is_blank(kept)).then(|| write(kept));
        if text == self.known {
            return Vec::new();
        }
        match shelf.get(&self.slot) {
            Err(refusal) => return self.refused(refusal),
            Ok(there) if there != self.known => {
                let seed = self.spare;
                self.spare = next_seed(seed);
                self.slot = slot_of(seed);
                self.known = None;
                return vec![Examine::Reseed(seed), Examine::Tell(Note::OtherTab)];
            }
            Ok(_) => {}
        }
        let done = match &text {
            Some(text) => shelf.put(&self.slot, text),
            None => {
                shelf.clear(&self.slot);
                Ok(())
            }
        };
        match done {
            Err(refusal) => self.refused(refusal),
            Ok(()) => {
                self.known = text;
                shelf.set_own(&self.slot);
                self.told
                    .take()
                    .map(Examine::TakeBack)
                    .into_iter()
                    .collect()
            }
        }
    }

    fn refused(&mut self, refusal: Refusal) -> Vec<Examine> {
        let note = match refusal {
            Refusal::Full => Note::StorageFull,
            Refusal::Blocked => Note::KeepsNothing,
        };
        if self.told.as_ref() == Some(&note) {
            return Vec::new();
        }
        let before = self.told.replace(note.clone()).map(Examine::TakeBack);
        before.into_iter().chain([Examine::Tell(note)]).collect()
    }
}

/// Keeps a text under a name of its own; the name, if that went well.
fn put_aside(shelf: &impl Shelf, text: &str, now: Moment) -> Option<String> {
    let name = format!("{ASIDE}{}", now.unix_ms);
    shelf.put(&name, text).is_ok().then_some(name)
}

/// The texts that were put aside, the oldest first; times are told in this computer's present zone.
#[must_use]
pub fn asides(shelf: &impl Shelf, now: Moment) -> Vec<Aside> {
    let at = |name: &str| {
        let unix_ms = name.strip_prefix(ASIDE)?.parse().ok()?;
        Some(Moment { unix_ms, ..now })
    };
    let mut all: Vec<Aside> = shelf
        .names()
        .into_iter()
        .filter_map(|name| {
            Some(Aside {
                at: at(&name)?,
                name,
            })
        })
        .collect();
    all.sort_by_key(|aside| aside.at.unix_ms);
    all
}

/// Takes away a text that was put aside, and nothing else.
pub fn throw_away(shelf: &impl Shelf, name: &str) {
    if name.starts_with(ASIDE) {
        shelf.clear(name);
    }
}

/// The slots that can be read.
fn readable(shelf: &impl Shelf) -> Vec<(String, Kept)> {
    let mut names = shelf.names();
    names.sort();
    names
        .into_iter()
        .filter(|name| name.starts_with(SLOT))
        .filter_map(|name| {
            let text = shelf.get(&name).ok()??;
            Some((name, read(&text).ok()?.kept))
        })
        .collect()
}

/// Clears away what was finished long ago.
fn clear_away(shelf: &impl Shelf, now: Moment) {
    for (name, kept) in readable(shelf) {
        let long_ago = last_moment(&kept)
            .is_none_or(|last| now.unix_ms.saturating_sub(last.unix_ms) > CLEARED_AFTER_MS);
        if kept.finished && long_ago {
            shelf.clear(&name);
        }
    }
}

/// Offers the latest unfinished work of another tab or an earlier visit.
fn earlier(shelf: &impl Shelf) -> Option<Examine> {
    let (slot, kept) = readable(shelf)
        .into_iter()
        .filter(|(_, kept)| !kept.finished && !kept.pictures.is_empty())
        .max_by_key(|(_, kept)| last_moment(kept).map(|last| last.unix_ms))?;
    Some(Examine::Tell(Note::Earlier {
        pictures: kept.pictures.len(),
        last: last_moment(&kept),
        slot,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use course::examination::KeptPicture;
    use course::link::LinkState;
    use std::cell::{Cell, RefCell};
    use std::collections::BTreeMap;
    use std::rc::Rc;

    /// The storage of a browser, shared by its tabs, and the memory of one tab.
    #[derive(Clone, Default)]
    struct Drawer {
        texts: Rc<RefCell<BTreeMap<String, String>>>,
        refusal: Rc<Cell<Option<Refusal>>>,
        own: Rc<RefCell<Option<String>>>,
    }

    impl Drawer {
        fn other_tab(&self) -> Self {
            Self {
                own: Rc::default(),
                ..self.clone()
            }
        }

        fn copied_tab(&self) -> Self {
            let own = self.own.borrow().clone();
            Self {
                own: Rc::new(RefCell::new(own)),
                ..self.clone()
            }
        }

        fn count(&self) -> usize {
            self.texts.borrow().len()
        }
    }

    impl Shelf for Drawer {
        fn get(&self, name: &str) -> Result<Option<String>, Refusal> {
            match self.refusal.get() {
                Some(Refusal::Blocked) => Err(Refusal::Blocked),
                _ => Ok(self.texts.borrow().get(name).cloned()),
            }
        }
        fn put(&self, name: &str, text: &str) -> Result<(), Refusal> {
            match self.refusal.get() {
                Some(refusal) => Err(refusal),
                None => {
                    self.texts
                        .borrow_mut()
                        .insert(name.to_owned(), text.to_owned());
                    Ok(())
                }
            }
        }
        fn clear(&self, name: &str) {
            self.texts.borrow_mut().remove(name);
        }
        fn names(&self) -> Vec<String> {
            self.texts.borrow().keys().cloned().collect()
        }
        fn own(&self) -> Option<String> {
            self.own.borrow().clone()
        }
        fn set_own(&self, name: &str) {
            *self.own.borrow_mut() = Some(name.to_owned());
        }
    }

    fn at(unix_ms: i64) -> Moment {
        Moment {
            unix_ms,
            offset_min: 0,
        }
    }

    fn work(seed: u64, pictures: u32) -> Kept {
        Kept {
            seed,
            next: pictures + 1,
            pictures: (1..=pictures)
                .map(|number| KeptPicture {
                    number,
                    at: at(i64::from(number) * 1000),
                    view: LinkState::default(),
                    annotation: "SAG AO".to_owned(),
                })
                .collect(),
            ..Kept::default()
        }
    }

    fn brought_back(todo: &[Examine]) -> Option<&Kept> {
        todo.iter().find_map(|one| match one {
            Examine::BringBack(kept) => Some(&**kept),
            _ => None,
        })
    }

    fn told(todo: &[Examine]) -> Vec<&Note> {
        todo.iter()
            .filter_map(|one| match one {
                Examine::Tell(note) => Some(note),
                _ => None,
            })
            .collect()
    }

    #[test]
    fn a_reload_brings_the_work_back() {
        let shelf = Drawer::default();
        let (mut keeper, todo) = Keeper::open(&shelf, 5, at(0));
        assert!(brought_back(&todo).is_none(), "nothing was kept");
        assert!(
            keeper
                .keep(
                    &shelf,
                    &Kept {
                        seed: 5,
                        ..Kept::default()
                    }
                )
                .is_empty()
        );
        assert_eq!(shelf.count(), 0, "an empty examination takes no room");
        assert!(keeper.keep(&shelf, &work(5, 2)).is_empty(), "kept");
        let (again, todo) = Keeper::open(&shelf, 6, at(0));
        assert_eq!(brought_back(&todo), Some(&work(5, 2)));
        assert_eq!(told(&todo), [] as [&Note; 0]);
        assert_eq!(again.seed(), 5, "goes on in its own slot");
    }

    #[test]
    fn another_tab_has_its_own_and_is_offered_the_earlier_work() {
        let first = Drawer::default();
        let (mut keeper, _) = Keeper::open(&first, 5, at(0));
        let _ = keeper.keep(&first, &work(5, 2));
        let second = first.other_tab();
        let (mut other, todo) = Keeper::open(&second, 6, at(0));
        let offered = Note::Earlier {
            pictures: 2,
            last: Some(at(2000)),
            slot: slot_of(5),
        };
        assert_eq!(told(&todo), [&offered]);
        let _ = other.keep(&second, &work(6, 1));
        let _ = keeper.keep(&first, &work(5, 3));
        assert_eq!(first.count(), 2, "neither overwrites the other");
        let (_, todo) = Keeper::open(&second, 7, at(0));
        assert_eq!(brought_back(&todo), Some(&work(6, 1)));
    }

    #[test]
    fn a_copied_tab_goes_on_by_itself() {
        let first = Drawer::default();
        let (mut keeper, _) = Keeper::open(&first, 5, at(0));
        let _ = keeper.keep(&first, &work(5, 1));
        let copy = first.copied_tab();
        let (mut copied, _) = Keeper::open(&copy, 6, at(0));
        let _ = keeper.keep(&first, &work(5, 2));
        let todo = copied.keep(&copy, &work(5, 3));
        assert_eq!(told(&todo), [&Note::OtherTab]);
        let Some(Examine::Reseed(seed)) = todo.first() else {
            panic!("a new seed comes first: {todo:?}");
        };
        assert!(copied.keep(&copy, &work(*seed, 3)).is_empty(), "kept apart");
        let texts: Vec<usize> = readable(&first)
            .iter()
            .map(|(_, kept)| kept.pictures.len())
            .collect();
        assert_eq!(
            texts.iter().sum::<usize>(),
            5,
            "two and three pictures: {texts:?}"
        );
    }

    #[test]
    fn damaged_work_is_put_aside_before_anything_is_written() {
        let shelf = Drawer::default();
        let (mut keeper, _) = Keeper::open(&shelf, 5, at(0));
        let _ = keeper.keep(&shelf, &work(5, 2));
        let broken = write(&work(5, 2)).replacen("|1000|", "|1001|", 1);
        shelf.texts.borrow_mut().insert(slot_of(5), broken.clone());
        let (mut again, todo) = Keeper::open(&shelf, 6, at(77));
        let kept = brought_back(&todo).expect("the other picture").clone();
        assert_eq!(kept.pictures.len(), 1);
        let aside = format!("{ASIDE}77");
        assert_eq!(
            told(&todo),
            [&Note::Damaged {
                lines: 1,
                aside: Some(aside.clone())
            }]
        );
        assert_eq!(shelf.get(&aside), Ok(Some(broken.clone())));
        let listed = [Aside {
            name: aside.clone(),
            at: at(77),
        }];
        assert!(
            matches!(&todo[..], [.., Examine::PutAside(all)] if *all == listed),
            "{todo:?}"
        );
        throw_away(&shelf, &slot_of(5));
        assert_eq!(shelf.count(), 2, "only what was put aside is thrown away");
        assert!(again.keep(&shelf, &kept).is_empty(), "goes on in its slot");

        // Where there is no room to put it aside, the slot is left alone.
        shelf.texts.borrow_mut().insert(slot_of(5), broken.clone());
        shelf.refusal.set(Some(Refusal::Full));
        let (mut again, todo) = Keeper::open(&shelf, 8, at(78));
        let kept = brought_back(&todo).expect("the other picture").clone();
        assert_eq!(kept.seed, 8);
        shelf.refusal.set(None);
        let _ = again.keep(&shelf, &kept);
        assert_eq!(shelf.get(&slot_of(5)), Ok(Some(broken)));
    }

    #[test]
    fn another_version_is_put_aside_whole() {
        let shelf = Drawer::default();
        shelf.set_own(&slot_of(5));
        let text = "planeward examination 9\nwhatever=1\n";
        shelf.texts.borrow_mut().insert(slot_of(5), text.to_owned());
        let (keeper, todo) = Keeper::open(&shelf, 6, at(3));
        assert!(brought_back(&todo).is_none(), "{todo:?}");
        let aside = format!("{ASIDE}3");
        assert_eq!(shelf.get(&aside), Ok(Some(text.to_owned())));
        assert_eq!(told(&todo).len(), 1);
        assert_eq!(keeper.seed(), 6);
    }

    #[test]
    fn a_full_or_blocked_storage_is_told_once_and_taken_back() {
        for (refusal, note) in [
            (Refusal::Full, Note::StorageFull),
            (Refusal::Blocked, Note::KeepsNothing),
        ] {
            let shelf = Drawer::default();
            let (mut keeper, _) = Keeper::open(&shelf, 5, at(0));
            shelf.refusal.set(Some(refusal));
            assert_eq!(told(&keeper.keep(&shelf, &work(5, 1))), [&note]);
            assert!(keeper.keep(&shelf, &work(5, 2)).is_empty(), "told already");
            shelf.refusal.set(None);
            let todo = keeper.keep(&shelf, &work(5, 3));
            assert!(
                matches!(&todo[..], [Examine::TakeBack(taken)] if *taken == note),
                "{todo:?}"
            );
            let (_, todo) = Keeper::open(&shelf, 9, at(0));
            assert_eq!(brought_back(&todo), Some(&work(5, 3)));
        }
    }

    #[test]
    fn what_was_finished_goes_when_a_new_one_begins_and_unfinished_stays() {
        for (finished, left) in [(true, 1), (false, 2)] {
            let shelf = Drawer::default();
            let (mut keeper, _) = Keeper::open(&shelf, 5, at(0));
            let kept = Kept {
                finished,
                ..work(5, 1)
            };
            let _ = keeper.keep(&shelf, &kept);
            let _ = keeper.keep(&shelf, &work(6, 1));
            assert_eq!(shelf.count(), left, "finished {finished}");
        }
        // Finished and closed: gone a day later, at the next visit.
        let shelf = Drawer::default();
        let (mut keeper, _) = Keeper::open(&shelf, 5, at(0));
        let _ = keeper.keep(
            &shelf,
            &Kept {
                finished: true,
                ..work(5, 1)
            },
        );
        let _ = Keeper::open(&shelf.other_tab(), 6, at(2000));
        assert_eq!(shelf.count(), 1, "still fresh");
        let _ = Keeper::open(&shelf.other_tab(), 7, at(2000 + CLEARED_AFTER_MS));
        assert_eq!(shelf.count(), 0);
    }
}
