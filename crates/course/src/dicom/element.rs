//! DICOM data elements in Explicit VR Little Endian (PS3.5 7.1.2, A.2).

/// Group and element number.
pub(super) type Tag = (u16, u16);

/// Data elements in the order in which they are written, which has to be that of their tags.
#[derive(Debug, Default)]
pub(super) struct Elements(Vec<u8>);

impl Elements {
    pub(super) fn bytes(self) -> Vec<u8> {
        self.0
    }

    pub(super) fn len(&self) -> usize {
        self.0.len()
    }

    /// A text; padded to even length with a blank, a UID with NUL (PS3.5 6.2).
    pub(super) fn text(&mut self, tag: Tag, vr: &[u8; 2], text: &str) {
        let mut value = text.as_bytes().to_vec();
        if value.len() % 2 == 1 {
            value.push(if vr == b"UI" { 0 } else { b' ' });
        }
        self.short(tag, vr, &value);
    }

    /// An unsigned 16-bit number.
    pub(super) fn us(&mut self, tag: Tag, value: u16) {
        self.short(tag, b"US", &value.to_le_bytes());
    }

    /// An unsigned 32-bit number.
    pub(super) fn ul(&mut self, tag: Tag, value: u32) {
        self.short(tag, b"UL", &value.to_le_bytes());
    }

    /// A signed 32-bit number.
    pub(super) fn sl(&mut self, tag: Tag, value: i32) {
        self.short(tag, b"SL", &value.to_le_bytes());
    }

    /// A 64-bit float.
    pub(super) fn fd(&mut self, tag: Tag, value: f64) {
        self.short(tag, b"FD", &value.to_le_bytes());
    }

    /// Bytes, with a pad byte where their number is odd (VR OB).
    pub(super) fn bytes_of(&mut self, tag: Tag, value: &[u8]) {
        let pad = value.len() % 2;
        self.long(tag, b"OB", value.len() + pad);
        self.0.extend(value);
        self.0.extend(std::iter::repeat_n(0, pad));
    }

    /// A sequence of items, all of defined length.
    pub(super) fn sequence(&mut self, tag: Tag, items: Vec<Self>) {
        let length = items.iter().map(|item| item.len() + 8).sum();
        self.long(tag, b"SQ", length);
        for item in items {
            self.tag((0xFFFE, 0xE000));
            self.0.extend(length32(item.len()));
            self.0.extend(item.0);
        }
    }

    /// Elements that have been written elsewhere.
    pub(super) fn append(&mut self, others: Self) {
        self.0.extend(others.0);
    }

    fn tag(&mut self, (group, element): Tag) {
        self.0.extend(group.to_le_bytes());
        self.0.extend(element.to_le_bytes());
    }

    /// A value with a 16-bit length. Texts come in shortened to what their VR allows.
    fn short(&mut self, tag: Tag, vr: &[u8; 2], value: &[u8]) {
        self.tag(tag);
        self.0.extend(vr);
        let length = u16::try_from(value.len()).unwrap_or(u16::MAX - 1);
        self.0.extend(length.to_le_bytes());
        self.0.extend(&value[..usize::from(length)]);
    }

    /// The head of a value with a 32-bit length.
    fn long(&mut self, tag: Tag, vr: &[u8; 2], length: usize) {
        self.tag(tag);
        self.0.extend(vr);
        self.0.extend([0; 2]);
        self.0.extend(length32(length));
    }
}

fn length32(length: usize) -> [u8; 4] {
    u32::try_from(length).unwrap_or(u32::MAX).to_le_bytes()
}
