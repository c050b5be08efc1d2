//! All words of the interface.
//!
//! Each table of this folder declares its fields with their English words (see [`wording::wording!`]). Another language
//! is a file of `web/languages`, read by [`Texts::read`]; what it leaves out stays English. Sentences about planes,
//! notch, beam and picture come from [`picture::words`], names of places on the skin from [`anatomy`]; their tables are
//! part of [`Texts`], too.
//!
//! To add words, declare a table in a file of your own and add it to [`Texts`].

mod choices;
mod cursor;
mod embed;
mod examine;
mod keys;
mod messages;
mod movements;
mod page;
mod panels;
mod planes;
mod practise;
mod predict;
mod probe;
mod results;
mod said;
mod set;
mod sides;
mod teach;
mod tissues;
mod tuning;
mod units;
mod volume;
mod why;
mod worksheet;

pub use choices::ChoiceTexts;
pub use cursor::CursorTexts;
pub use embed::EmbedTexts;
pub use examine::{ExamineKeyTexts, ExamineTexts};
pub use keys::KeyTexts;
pub use messages::MessageTexts;
pub use movements::MovementTexts;
pub use page::{PageTexts, StopTexts, UpdateTexts};
pub use panels::PanelTexts;
pub use planes::PlaneTexts;
pub use practise::PractiseTexts;
pub use predict::PredictTexts;
pub use probe::ProbeTexts;
pub use results::ResultsTexts;
pub use said::SaidTexts;
pub use set::SetTexts;
pub use sides::SideTexts;
pub use teach::TeachTexts;
pub use tissues::TissueTexts;
pub use tuning::{KnobTexts, TuningTexts};
pub use units::UnitTexts;
pub use volume::VolumeTexts;
pub use why::WhyTexts;
pub use worksheet::WorksheetTexts;

use geometry::BodyPlane;
use picture::Transducer;
use picture::words::PictureWords;
use wording::{Dictionary, Key, Plural, wording};

pub use wording::form;
pub(crate) use wording::form as fill;

use crate::action::Movement;

wording! {
    /// All words of one language.
    pub struct Texts {
        /// BCP 47 tag.
        language: "en",
        /// "ltr" or "rtl": which way the page's text runs. Anatomy and pictures are never mirrored.
        direction: "ltr",
        /// How the language counts, see [`Plural::from_word`].
        plurals: "one",
        /// Names of the patient's sides.
        sides: SideTexts = SideTexts::ENGLISH,
        /// Units.
        units: UnitTexts = UnitTexts::ENGLISH,
        /// Keyboard map.
        keys: KeyTexts = KeyTexts::ENGLISH,
        /// Panels.
        panels: PanelTexts = PanelTexts::ENGLISH,
        /// The page around them.
        page: PageTexts = PageTexts::ENGLISH,
        /// A newer version.
        update: UpdateTexts = UpdateTexts::ENGLISH,
        /// The stop screen.
        stop: StopTexts = StopTexts::ENGLISH,
        /// Choices.
        choices: ChoiceTexts = ChoiceTexts::ENGLISH,
        /// Planes.
        planes: PlaneTexts = PlaneTexts::ENGLISH,
        /// The probe.
        probe: ProbeTexts = ProbeTexts::ENGLISH,
        /// Rotate, tilt, rock, compress, in the order of [`Movement::ALL`].
        movements: [MovementTexts; 4] = movements::ENGLISH,
        /// Descriptions of probe, plane and picture.
        pictures: PictureWords = PictureWords::ENGLISH,
        /// Announcements.
        said: SaidTexts = SaidTexts::ENGLISH,
        /// Messages.
        messages: MessageTexts = MessageTexts::ENGLISH,
        /// Answers.
        why: WhyTexts = WhyTexts::ENGLISH,
        /// The place pointed at.
        cursor: CursorTexts = CursorTexts::ENGLISH,
        /// What structures are made of.
        tissues: TissueTexts = TissueTexts::ENGLISH,
        /// The three planes of a volume.
        volume: VolumeTexts = VolumeTexts::ENGLISH,
        /// Predictions.
        predict: PredictTexts = PredictTexts::ENGLISH,
        /// Picture settings.
        tuning: TuningTexts = TuningTexts::ENGLISH,
        /// The examination.
        examine: ExamineTexts = ExamineTexts::ENGLISH,
        /// A view in another page.
        embed: EmbedTexts = EmbedTexts::ENGLISH,
        /// The page of results.
        results: ResultsTexts = ResultsTexts::ENGLISH,
        /// A set on paper.
        worksheet: WorksheetTexts = WorksheetTexts::ENGLISH,
        /// The workshop of exercise sets.
        teach: TeachTexts = TeachTexts::ENGLISH,
        /// An exercise set that is played.
        set: SetTexts = SetTexts::ENGLISH,
        /// Practice.
        practise: PractiseTexts = PractiseTexts::ENGLISH,
        /// The standing footer, sentence by sentence.
        footer: [
            "For teaching. Not for diagnosis.",
            "Follow your department's protocol and local rules.",
            "Scan people only under supervision.",
            "Keep exposure as low as reasonably achievable.",
        ],
        /// Names of the parts of the bodies by their identifiers; empty where the bodies' own names serve.
        names: Dictionary = Dictionary::EMPTY,
    }
}

/// The languages that the page offers: tag, name in the language itself. All but the first have a file in
/// `web/languages`.
pub const LANGUAGES: [(&str, &str); 2] = [("en", "English"), ("es", "Español")];

/// One English for all that only read it.
static ENGLISH: Texts = Texts::ENGLISH;

impl Texts {
    /// English.
    #[must_use]
    pub fn english() -> Self {
        Self::ENGLISH
    }

    /// English, the language in which the application starts.
    #[must_use]
    pub fn first() -> &'static Self {
        &ENGLISH
    }

    /// The language of a file of `web/languages`; what the file leaves out is English.
    #[must_use]
    pub fn read(file: &'static str) -> Self {
        let names = Dictionary::read(file);
        let mut texts = Self::ENGLISH;
        wording::fill(&mut texts, &names);
        texts.names = names;
        texts.pictures.plurals = Plural::from_word(texts.plurals);
        texts
    }

    /// The form of `text` that goes with `n`: forms are parted by `|`.
    #[must_use]
    pub fn counted(&self, text: &'static str, n: usize) -> &'static str {
        self.pictures.plurals.pick(text, n)
    }

    /// A number as the language writes it: with its own decimal sign.
    #[must_use]
    pub fn number(&self, value: f64, decimals: usize) -> String {
        format!("{value:.decimals$}").replace('.', self.units.decimal)
    }

    /// A transducer's name.
    #[must_use]
    pub fn transducer(&self, transducer: &Transducer) -> &'static str {
        let key = Key::of("names.transducers").named(transducer.id);
        self.names.get(key).unwrap_or(transducer.label)
    }

    /// A body plane inside a sentence.
    #[must_use]
    pub fn plane_word(&self, plane: BodyPlane) -> &'static str {
        let [sagittal, coronal, transverse] = self.planes.words;
        match plane {
            BodyPlane::Sagittal => sagittal,
            BodyPlane::Coronal => coronal,
            BodyPlane::Transverse => transverse,
        }
    }

    /// Words of one movement.
    #[must_use]
    pub fn movement(&self, movement: Movement) -> &MovementTexts {
        let [rotate, tilt, rock, compress] = &self.movements;
        match movement {
            Movement::Rotate => rotate,
            Movement::Tilt => tilt,
            Movement::Rock => rock,
            Movement::Compress => compress,
        }
    }
}

/// As inside a sentence: with a small first letter, unless it stands for more than a word, as in "L2 vertebra".
pub(crate) fn uncapitalised(text: &str) -> String {
    let mut letters = text.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if second.is_lowercase() => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => text.to_owned(),
    }
}

/// With a capital first letter.
pub(crate) fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}
