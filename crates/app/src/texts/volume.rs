//! The three planes of a volume.

use wording::wording;

wording! {
    /// Words of the three planes. `{}` stands for what is put in, in the order given.
    pub struct VolumeTexts {
        /// Heading of the group.
        title: "Three planes of a volume",
        /// With a transducer that does not sweep.
        no_sweep: "A volume transducer swings its plane to and fro and acquires a volume. Any plane can be cut out of it.",
        /// Button beside it.
        take: "Take the volume transducer",
        /// Check box.
        show: "Show the planes",
        /// Said when they are no longer shown.
        put_away: "The planes of the volume are put away.",
        /// What they are.
        note: "Three planes square to each other through one point. Press in a picture to move the point.",
        /// The three kinds: acquired, across it, parallel to the face.
        kinds: [
            "as acquired",
            "across it, through the beam",
            "parallel to the face",
        ],
        /// Caption of a picture: number, name of the plane.
        caption: "{}. {}",
        /// A plane in one sentence: number, kind, name, image left, image right, image top, image bottom.
        sentence: "Plane {}, {}: {}. Image left: {}. Image right: {}. Image top: {}. Image bottom: {}.",
        /// What it shows: structures.
        shows: "It shows {}.",
        /// It shows nothing with a name.
        shows_nothing: "It shows no named structure.",
        /// A structure with how it is seen: name, axis.
        seen_in: "{} in {}",
        /// While the volume is acquired in grey: percent.
        acquiring: "Acquiring the volume in grey-scale: {} %",
        /// The three coordinates of the point.
        along: "Toward the notch",
        across: "Across the plane",
        deep: "Depth of the point",
    }
}
