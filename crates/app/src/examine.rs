//! The examination: a frozen picture, the annotation line, acquired pictures and the list that was requested.
//!
//! - [`Examine`]: what can happen to it; `update` applies it;
//! - [`Examination`]: what is known of it, part of the state;
//! - [`acquired`]: a kept picture shown again, and what is true of it;
//! - [`keeping`]: where the examination is kept between visits, and what to do when that fails;
//! - [`files`]: pictures as files to take away.
//!
//! Pictures are not kept as pixels but as where the probe was and how the picture was shown. When one is frozen or
//! acquired, the probe is put on the digits that a link can write, less than a thousandth of a millimetre or a degree
//! away, so that the picture drawn again is the same to the last bit.

pub mod acquired;
pub mod files;
pub mod keeping;

use std::collections::BTreeMap;
use std::sync::Arc;

use course::examination::{Kept, KeptPicture, MOST_PICTURES};
use course::link::LinkState;
pub use course::moment::Moment;
use practice::acquisition::{Request, request};
use practice::annotation::{Completion, TokenKind, Vocabulary, complete, read};
use wording::Key;

use crate::action::Way;
use crate::state::State;
use crate::texts::Texts;

use acquired::Judged;

/// Most words offered while somebody types.
pub(crate) const MOST_OFFERED: usize = 6;

/// What can happen to the examination. Any of these is allowed in any state.
#[derive(Debug, Clone)]
pub enum Examine {
    /// The words that may stand on a picture are here.
    VocabularyArrived(Arc<Vocabulary>),
    /// They cannot be had.
    VocabularyFailed,
    /// Kept work is taken up again.
    BringBack(Box<Kept>),
    /// Take up the work that is kept under this name; see [`Examination::wanted`].
    TakeUp(String),
    /// Something has to be told.
    Tell(Note),
    /// It is no longer so, or has been read.
    TakeBack(Note),
    /// Another number tells this examination from every other from now on.
    Reseed(u64),
    /// These texts of kept work that could not be read are put aside.
    PutAside(Vec<Aside>),
    /// Give the text that is kept under this name to the reader; see [`Examination::aside_wanted`].
    SaveAside(String),
    /// That was done.
    AsideSaved(String),
    /// It could not be done.
    AsideNotSaved,

    /// Hold the picture and the probe.
    Freeze,
    /// Let them go.
    Unfreeze,
    /// The one or the other.
    SwitchFreeze,

    /// What stands in the annotation line now.
    Write(String),
    /// Go to the next or the previous of the offered words.
    OfferStep(Way),
    /// Take an offered word, by its place in the list, or the one that was gone to.
    TakeOffer(Option<usize>),
    /// Put the offered words away.
    CloseOffers,
    /// Say what an ambiguous word of the line means.
    Choose {
        /// Which of the line's tokens.
        token: usize,
        /// Which of its meanings.
        choice: usize,
    },
    /// Hold the line against the frozen picture.
    Check,

    /// Put the picture into the strip.
    Acquire(Moment),
    /// Find out what is true of one acquired picture; see [`State::unjudged`].
    Judge,
    /// Look at a picture again, by its number.
    Review(u32),
    /// Go to the next or the previous picture.
    ReviewStep(Way),
    /// Go back to the live picture.
    CloseReview,
    /// Put the probe where a picture was acquired.
    GoTo(u32),
    /// Take a picture out of the strip.
    Delete(u32),
    /// Put the picture back that was taken out last.
    PutBack,

    /// Choose a requested list by its key, or none.
    Request(Option<String>),
    /// Hold the pictures against the list before finishing.
    OpenFinish,
    /// Go on scanning.
    CloseFinish,
    /// No more pictures.
    Finish,
    /// More pictures after all.
    Reopen,
    /// Begin anew; the number tells the new examination from every other.
    BeginNew(u64),
}

/// Something the examiner is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Note {
    /// The probe is held.
    Held,
    /// There is no picture yet.
    NoPicture,
    /// The line is checked against a frozen picture only.
    CheckNeedsFreeze,
    /// The line has words that mean two things.
    Ambiguous,
    /// The examination is finished.
    Finished,
    /// The strip is full.
    StripFull,
    /// A picture was taken out of the strip.
    Deleted(u32),
    /// The vocabulary cannot be had.
    NoVocabulary,
    /// The browser keeps nothing for this page.
    KeepsNothing,
    /// The browser's storage for this page is full.
    StorageFull,
    /// Another tab has changed the same examination.
    OtherTab,
    /// Lines of kept work could not be read.
    Damaged {
        /// How many; none means that the whole was of another version.
        lines: usize,
        /// The name under which the text as it was is kept, if it could be.
        aside: Option<String>,
    },
    /// Work of an earlier visit is kept.
    Earlier {
        /// How many pictures it has.
        pictures: usize,
        /// When the last of them was acquired.
        last: Option<Moment>,
        /// The name under which it is kept.
        slot: String,
    },
    /// The list could not be taken because the body lacks what it asks for.
    ListDoesNotFit,
    /// A file could not be made.
    NotSaved,
}

/// A text of kept work that could not be read, put aside as it was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Aside {
    /// The name under which it is kept.
    pub name: String,
    /// When it was put aside.
    pub at: Moment,
}

/// Everything that is known of the examination.
#[derive(Debug, Clone, Default)]
pub struct Examination {
    pub(crate) kept: Kept,
    /// The held view, while the picture is frozen.
    pub(crate) held: Option<LinkState>,
    /// A view that is to be frozen as soon as its body is here.
    pub(crate) hold_awaited: Option<LinkState>,
    pub(crate) vocabulary: Option<Arc<Vocabulary>>,
    pub(crate) vocabulary_failed: bool,
    /// Whether words are offered, and which of them was gone to.
    pub(crate) offers_open: bool,
    pub(crate) offer: Option<usize>,
    /// The line as it was checked last.
    pub(crate) checked: Option<String>,
    /// Whether the line stands on an acquired picture already.
    pub(crate) line_used: bool,
    pub(crate) reviewed: Option<u32>,
    pub(crate) finishing: bool,
    /// Pictures taken out, with the places they had, the last one last.
    pub(crate) removed: Vec<(usize, KeptPicture)>,
    pub(crate) judged: BTreeMap<u32, Judged>,
    pub(crate) notes: Vec<Note>,
    pub(crate) wanted: Option<String>,
    /// The list of an exercise set.
    pub(crate) asked: Option<Arc<Request>>,
    pub(crate) asides: Vec<Aside>,
    pub(crate) aside_wanted: Option<String>,
    /// Names of those whose text the reader was given.
    pub(crate) asides_saved: Vec<String>,
}

/// What the picture of `state` is made of.
pub(crate) fn picture_now(state: &State) -> LinkState {
    picture_of(crate::address::link_of(state))
}

/// A link without what changes no picture: where the examiner sits, how the body lies, what the place is called.
pub(crate) fn picture_of(link: LinkState) -> LinkState {
    let usual = LinkState::default();
    LinkState {
        window: None,
        position: usual.position,
        seat: usual.seat,
        ..link
    }
}

/// What a vocabulary file (JSON, as shipped with the page) gives.
#[must_use]
pub fn vocabulary_arrived(json: &[u8]) -> Examine {
    course::vocabulary::read(json).map_or(Examine::VocabularyFailed, |vocabulary| {
        Examine::VocabularyArrived(Arc::new(vocabulary))
    })
}

/// The same of the vocabulary that is shipped with the page, in which the words of the page's language count, too.
#[must_use]
pub fn shipped_vocabulary(json: &[u8], texts: &Texts) -> Examine {
    course::vocabulary::read(json).map_or(Examine::VocabularyFailed, |mut vocabulary| {
        let [words, meanings] = ["names.words", "names.meanings"].map(Key::of);
        vocabulary.translate(
            |mark| texts.names.get(words.named(mark)),
            |word, number| {
                let key = meanings.named(word).named(&number.to_string());
                texts.names.get(key)
            },
        );
        Examine::VocabularyArrived(Arc::new(vocabulary))
    })
}

impl Examination {
    /// The pictures in the order in which they were acquired.
    #[must_use]
    pub fn pictures(&self) -> &[KeptPicture] {
        &self.kept.pictures
    }

    /// The picture of this number.
    #[must_use]
    pub fn picture(&self, number: u32) -> Option<&KeptPicture> {
        self.pictures()
            .iter()
            .find(|picture| picture.number == number)
    }

    /// What is to be kept between visits.
    #[must_use]
    pub fn kept(&self) -> &Kept {
        &self.kept
    }

    /// Whether the picture is frozen.
    #[must_use]
    pub fn is_frozen(&self) -> bool {
        self.held.is_some()
    }

    /// What stands in the annotation line.
    #[must_use]
    pub fn line(&self) -> &str {
        &self.kept.line
    }

    /// The line that the verdict is about, when it still stands there.
    #[must_use]
    pub fn checked_line(&self) -> Option<&str> {
        self.checked
            .as_deref()
            .filter(|line| *line == self.kept.line)
    }

    /// The picture that is looked at again.
    #[must_use]
    pub fn reviewed(&self) -> Option<&KeptPicture> {
        self.picture(self.reviewed?)
    }

    /// Whether the pictures are being held against the requested list.
    #[must_use]
    pub fn is_finishing(&self) -> bool {
        self.finishing
    }

    /// Whether the examination is finished.
    #[must_use]
    pub fn is_finished(&self) -> bool {
        self.kept.finished
    }

    /// The requested list: that of an exercise set, else the one that was chosen.
    #[must_use]
    pub fn request(&self) -> Option<&Request> {
        match &self.asked {
            Some(asked) => Some(asked),
            None => request(self.kept.request.as_deref()?),
        }
    }

    /// Whether somebody who leaves now leaves something undone.
    #[must_use]
    pub fn is_unfinished(&self) -> bool {
        !self.kept.finished && (!self.kept.pictures.is_empty() || !self.kept.line.trim().is_empty())
    }

    /// What is true of the picture of this number, once that is known.
    #[must_use]
    pub fn judged(&self, number: u32) -> Option<&Judged> {
        self.judged.get(&number)
    }

    /// The name of kept work that is to be taken up: the shell fetches it and answers with [`Examine::BringBack`].
    #[must_use]
    pub fn wanted(&self) -> Option<&str> {
        self.wanted.as_deref()
    }

    /// Texts of kept work that could not be read, the oldest first.
    #[must_use]
    pub fn asides(&self) -> &[Aside] {
        &self.asides
    }

    /// The name of a kept text that the reader wants: the shell gives it as a file and answers with
    /// [`Examine::AsideSaved`] or [`Examine::AsideNotSaved`].
    #[must_use]
    pub fn aside_wanted(&self) -> Option<&str> {
        self.aside_wanted.as_deref()
    }

    /// What has to be told, in the order in which it came up.
    #[must_use]
    pub fn notes(&self) -> &[Note] {
        &self.notes
    }

    /// Whether the strip takes no more pictures.
    #[must_use]
    pub fn is_full(&self) -> bool {
        self.kept.pictures.len() >= MOST_PICTURES
    }

    /// Words that may finish the line.
    #[must_use]
    pub fn offers(&self) -> Vec<Completion<'_>> {
        match &self.vocabulary {
            Some(vocabulary) if self.offers_open => {
                complete(vocabulary, &self.kept.line, MOST_OFFERED)
            }
            _ => Vec::new(),
        }
    }

    /// Whether the line has a word that means two things.
    #[must_use]
    pub fn has_ambiguous_word(&self) -> bool {
        self.vocabulary.as_ref().is_some_and(|vocabulary| {
            read(vocabulary, &self.kept.line)
                .iter()
                .any(|token| matches!(token.kind, TokenKind::Ambiguous(_)))
        })
    }

    /// Tells something, once.
    pub(crate) fn tell(&mut self, note: Note) -> bool {
        if self.notes.contains(&note) {
            return false;
        }
        self.notes.push(note);
        true
    }

    /// Takes back what is no longer true.
    pub(crate) fn forget(&mut self, note: &Note) {
        self.notes.retain(|told| told != note);
    }
}

impl State {
    /// The examination.
    #[must_use]
    pub fn examination(&self) -> &Examination {
        &self.examination
    }

    /// Whether [`Examine::Judge`] has something to do: a picture of the present body of which nothing is known yet.
    #[must_use]
    pub fn unjudged(&self) -> Option<u32> {
        let body = self.body()?;
        let examination = &self.examination;
        if examination.vocabulary.is_none() && !examination.vocabulary_failed {
            return None;
        }
        examination
            .pictures()
            .iter()
            .find(|picture| {
                picture.view.body.as_deref() == Some(body.id())
                    && !examination.judged.contains_key(&picture.number)
            })
            .map(|picture| picture.number)
    }
}
