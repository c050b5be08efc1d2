//! Words of the workshop of exercise sets.

use wording::wording;

wording! {
    /// Words of the workshop. `{}` stands for what is put in.
    pub struct TeachTexts {
        /// Heading of the page.
        title: "Teach",
        /// What a set is called that was given no title.
        untitled: "Exercise set",
        /// Way back to the page for scanning.
        to_scan: "Scan",
        /// Way to practice.
        to_practise: "Practise",
        /// Way to the page of results.
        to_results: "Results",
        /// Group of the ways, read aloud.
        ways: "Pages",
        /// Heading of the set.
        set: "Exercise set",
        /// Field.
        name: "Title",
        /// Field.
        description: "What learners read first",
        /// Heading of the settings that are changed seldom.
        settings: "Settings of the set",
        /// Field.
        pass: "Passed from",
        /// Field.
        attempts: "Answers to each question, at most",
        /// Field.
        tolerance: "Tolerance",
        /// Tick.
        shuffle: "Shuffle the questions",
        /// Tick.
        at_end: "Tell how it went at the end only",
        /// Tick.
        hints: "Allow hints",
        /// Field.
        label: "Ask learners for a label, in these words",
        /// Note.
        label_note: "Leave it empty to keep results without anything personal.",
        /// Field.
        body: "Body",
        /// Field.
        position: "It lies",
        /// Field.
        mark: "The notch side is shown at",
        /// Field.
        apex: "The probe's face is shown at",
        /// Field.
        language: "Language of your own words",
        /// Tick.
        seeded: "The same drawn questions for everybody",
        /// Tick.
        report_failed: "Tell the course system who failed",
        /// Note.
        report_failed_note: "Some course systems turn the whole grade into 0 when they are told.",
        /// Heading.
        acquire: "Pictures to acquire",
        /// Field.
        acquire_list: "List",
        /// First line of the menu of lists.
        acquire_none: "None",
        /// Last line of the menu of lists.
        acquire_own: "A list of your own",
        /// Button.
        acquire_add: "Add the view on the page",
        /// Note.
        acquire_note: "After the questions learners have the probe, freeze, annotate and acquire. Each view gives one mark.",
        /// Note.
        acquire_other_body: "The list is about another body. Choose it on the page to see the list.",
        /// Heading of the list.
        questions: "Questions",
        /// Help for the list.
        order_hint: "Drag a question by its handle, or move it with the arrow buttons.",
        /// Nothing yet.
        none_yet: "Nothing yet. Place the probe, choose what to ask, and add it; or begin with an example.",
        /// Heading.
        add: "Ask about the view on the page",
        /// Button.
        add_button: "Add question",
        /// Button.
        add_drawn: "Add drawn questions",
        /// Read aloud for the menu of kinds.
        kind: "What to ask",
        /// Button of an entry; `{}` is its name.
        up: "Move up: {}",
        /// See [`Self::up`].
        down: "Move down: {}",
        /// See [`Self::up`].
        remove: "Remove: {}",
        /// See [`Self::up`].
        copy: "Copy: {}",
        /// Button.
        edit: "Change",
        /// Button.
        show_view: "Show its view",
        /// Button.
        take_view: "Take the view on the page",
        /// Field.
        prompt: "Own wording",
        /// Field.
        hint: "Own hint",
        /// Field.
        points: "Marks",
        /// Field.
        side: "Side of the image",
        /// Field.
        structure: "Structure",
        /// Field.
        count: "How many",
        /// Field.
        difficulty_field: "How hard",
        /// Field.
        plane_field: "Plane",
        /// Field.
        approach: "Probe on",
        /// Heading.
        files: "Open and save",
        /// Button.
        open: "Open a set",
        /// Button.
        save: "Save the set",
        /// Button.
        new: "New set",
        /// First line of the menu of starter sets.
        starter: "Begin with an example",
        /// Heading.
        share: "Give it to learners",
        /// Field.
        link: "Link",
        /// Field.
        snippet: "For a course page",
        /// Field.
        element: "For a page with scripts",
        /// Button.
        copy_text: "Copy",
        /// Said after copying.
        copied: "Copied.",
        /// Where copying is not allowed.
        marked: "The text is marked. Copy it with your usual keys.",
        /// Note under a long link.
        long_link: "This link is longer than some systems take. Save the set and give the file away instead.",
        /// Heading.
        packages: "Packages for course systems",
        /// Button; `{}` is the standard.
        package: "Download for {}",
        /// Button.
        quiz: "Download for a quiz bank (QTI 3.0)",
        /// Questions that are not in the quiz; `{}` is how many.
        quiz_left: "{} question has no place in a quiz of still pictures and was left out.|{} questions have no place in a quiz of still pictures and were left out.",
        /// No question can be in a quiz.
        quiz_none: "None of these questions can be a still picture with choices.",
        /// Under a still picture, for those who do not see it: one picture, before a movement, after it.
        quiz_pictures: ["Ultrasound picture", "Ultrasound picture before the movement", "Ultrasound picture after the movement"],
        /// In place of the body; beam, notch.
        quiz_pose: "The beam points toward {1}, the notch toward {2}. The dot is the mark: the notch's side of the picture.",
        /// While a package is made.
        packing: "Collecting the files …",
        /// When a package is there.
        packed: "The package is in your downloads.",
        /// When it cannot be made; `{}` is the reason.
        not_packed: "The package could not be made: {}.",
        /// Button.
        preview: "Preview as a learner",
        /// Button.
        preview_one: "Preview this question",
        /// Name of the preview.
        preview_title: "Preview",
        /// Link.
        worksheet: "Print a worksheet",
        /// Button.
        close: "Close",
        /// No question.
        no_questions: "No questions.",
        /// One question.
        one_question: "One question.",
        /// More; `{}` is how many.
        many_questions: "{} questions.",
        /// One entry cannot be asked.
        one_trouble: "One needs a look.",
        /// More; `{}` is how many.
        many_troubles: "{} need a look.",
        /// Why an entry cannot be asked; `{}` is the reason.
        trouble: "This cannot be asked: {}.",
        /// An entry on another body.
        other_body: "On another body, which learners get when it comes. Show its view to have it checked.",
        /// Entries that draw: how many, of what.
        drawn_of: "{} drawn: {}",
        /// Entries that draw from many kinds: how many.
        drawn: "{} drawn questions",
        /// A view that is at no named window.
        own_view: "Own view",
        /// Drawn with the probe on this side.
        from_side: "probe on the {}",
        /// The side with the mark.
        marked_side: "The side with the mark",
        /// A side of the image.
        image_sides: ["Image left", "Image right", "Image top", "Image bottom"],
        /// The window's first structure.
        first_structure: "The first one of the window",
        /// No choice made.
        any: "Any",
        /// Kinds of questions, in the order of [`practice::Kind::ALL`].
        kinds: [
            "Plane, from the probe on the body",
            "Plane, from the picture",
            "What lies at a side of the picture",
            "Where the notch points, from the picture",
            "Transducer, from the picture",
            "Which movement was made",
            "Axis of a structure, and plane",
            "Place the probe",
            "Type the annotation",
            "Find the fault",
        ],
        /// Easy, medium, hard, mixed.
        difficulties: ["easy", "medium", "hard", "all levels in turn"],
        /// Planes, in the order of [`practice::PlaneClass::ALL`].
        plane_classes: ["sagittal", "coronal", "transverse", "oblique"],
        /// Sides the probe stands on, in the order of [`geometry::PatientSide::ALL`].
        approaches: ["patient's right", "patient's left", "front", "back", "head end", "foot end"],
        /// Starter sets, in the order of the files.
        starters: [
            "Orientation week",
            "Abdominal aorta",
            "Kidneys from the flank",
            "Leg veins",
            "Infant head",
            "Cardiac convention",
        ],
    }
}
