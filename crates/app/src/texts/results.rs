//! Words of the page of results.

use wording::wording;

wording! {
    /// Words of the page of results. `{}` stands for what is put in.
    pub struct ResultsTexts {
        /// Heading of the page.
        title: "Results",
        /// What the page is for.
        intro: "Open the result files of your learners. They stay on this computer.",
        /// Button.
        open: "Open result files",
        /// Words of the place where files may be dropped.
        drop: "or drop them here",
        /// Button.
        clear: "Put all away",
        /// Nothing yet.
        none: "No files yet.",
        /// How many files; `{}` is the number.
        files: "{} files.",
        /// Heading of the files that are not counted.
        left_heading: "Not counted",
        /// A file that is not counted: its name, the reason.
        left: "{}: {}.",
        /// Why it is not counted.
        foreign: "it is no result file of Planeward",
        /// Why: its version, the version that is read.
        version: "it is a result file of version {}; this program reads version {}",
        /// Why.
        damaged: "it is damaged: its content does not fit its check sum",
        /// Why.
        cut_off: "it stops in the middle: part of it was lost while it was saved or sent; ask for it again",
        /// Why: the largest size, bytes.
        too_large: "it is larger than {} bytes",
        /// Why: the place in the file, what stands there, what belongs there. The last two are English.
        fault: "it has a fault at {}: found {}, expected {}",
        /// Why: the other file.
        copy: "it is a copy of {}",
        /// Why.
        empty: "it holds no answer",
        /// Why: which round it is.
        later_round: "it is round {} and first rounds count",
        /// Why: the other file.
        same_learner: "it is a later round of the same learner than {}",
        /// Heading of the table.
        items: "Questions, first answers",
        /// Heads of the columns.
        columns: ["Question", "Answered", "Right", "Discrimination", "Alpha without it", "Time"],
        /// Heading of what the columns and the figures above them mean.
        figures: "What the figures say",
        /// One sentence or two for each, in plain words. The bands of discrimination are a rule of thumb of textbooks.
        figures_of: [
            "Right: mean share of the marks at the first try, without a hint.",
            "Discrimination: whether those who do well in the other questions do well in this one (a correlation, −1 to 1). By a rule of thumb 0.3 and more is good; near 0 the question tells little; below 0 something may be wrong with it.",
            "Alpha without it: the reliability if this question were left out. Higher than that of the set: it asks for something else than the others do.",
            "Reliability: whether another set of such questions would put learners in the same order (0 to 1). Where nearly everybody is right it is low, and that is no fault of a set for practice.",
            "Standard error of measurement: by how many questions chance moves the result of about two learners in three, at most.",
        ],
        /// Read aloud on the head of a column; `{}` is its name.
        sort: "Sort by {}",
        /// Heading of the chart.
        chart_title: "Share of right first answers",
        /// The chart in words; `{}` is the list.
        chart: "Share of right first answers: {}.",
        /// Heading of the matrix.
        matrix: "Which plane was taken for which",
        /// Head of its rows.
        right_plane: "Right",
        /// Head of its columns.
        answered_plane: "Answered",
        /// Heading.
        findings: "Worth a word in class",
        /// Button.
        export_items: "Save the table",
        /// Button.
        export_answers: "Save all answers",
        /// How many learners, how many of them answered everything.
        learners: "{} learners, {} of them answered every question.",
        /// Mean, of how many, spread.
        totals: "Mean {} of {} right, standard deviation {}.",
        /// Reliability of right-or-wrong answers.
        kr20: "Reliability (KR-20)",
        /// Reliability.
        alpha: "Reliability (Cronbach's alpha)",
        /// Its meaning for one learner.
        standard_error: "Standard error of measurement {}.",
        /// How many passed, of how many.
        passed: "{} of {} passed.",
        /// A caution.
        few: "Few learners: read the figures as hints.",
        /// A caution.
        seeds_differ: "Learners had different draws: questions of one name were not the same question.",
        /// Remark.
        check_key: "Negative: better learners were wrong more often. Check the question.",
        /// Remark.
        all_right: "Everybody was right.",
        /// Remark.
        none_right: "Nobody was right.",
        /// Right plane, answered plane, how often.
        taken_for: "{} was taken for {}: {} times.",
        /// A mistake that has a name: how often, its sentence.
        misconception: "First answers with the same mistake: {}. {}",
        /// How many, mean angle.
        placed: "Probe placed {} times, the plane {}° off on average.",
        /// How many.
        reversed: "Reversed left and right in the picture: {} times.",
        /// How many.
        other_side: "On the other side of the body: {} times.",
        /// What, how much, which way.
        constant: "{} is off the same way for many: {} {}.",
        /// The rotation of the probe.
        rotation: "The rotation",
        /// Its ways.
        clockwise: ["clockwise", "anticlockwise"],
        /// The tilt.
        tilt: "The tilt",
        /// Its ways.
        positive: ["the positive way", "the negative way"],
        /// The rock.
        rock: "The rock",
        /// Its ways.
        toward_notch: ["toward the notch", "away from the notch"],
        /// Where the probe stands.
        contact: "The place on the skin",
        /// Ways.
        left_right: ["toward the patient's left", "toward the patient's right"],
        /// Ways.
        head_feet: ["toward the head", "toward the feet"],
    }
}
