//! Bytes of fixed places, little-endian: written and read without a path to a panic. What does not fit is left out, what is missing is told.

/// Writes into `N` bytes, which are zero until then.
pub(super) struct Writer<const N: usize> {
    bytes: [u8; N],
    at: usize,
}

impl<const N: usize> Writer<N> {
    pub(super) const fn new() -> Self {
        Self { bytes: [0; N], at: 0 }
    }
    pub(super) fn put(&mut self, value: &[u8]) {
        for (to, from) in self.bytes.iter_mut().skip(self.at).zip(value) {
            *to = *from;
        }
        self.at = self.at.saturating_add(value.len());
    }
    pub(super) fn byte(&mut self, value: u8) {
        self.put(&[value]);
    }
    pub(super) fn half(&mut self, value: u16) {
        self.put(&value.to_le_bytes());
    }
    pub(super) fn word(&mut self, value: u32) {
        self.put(&value.to_le_bytes());
    }
    pub(super) fn int(&mut self, value: i32) {
        self.put(&value.to_le_bytes());
    }
    /// A text in a place of `room` bytes behind its length.
    pub(super) fn text(&mut self, text: &str, room: usize) {
        let end = self.at.saturating_add(room).saturating_add(1);
        let whole = if text.len() > room { "" } else { text };
        self.byte(whole.len() as u8);
        self.put(whole.as_bytes());
        self.at = end;
    }
    /// The bytes, and how many were written.
    pub(super) const fn done(self) -> ([u8; N], usize) {
        (self.bytes, self.at)
    }
}

/// Reads from the front.
pub(super) struct Reader<'a>(pub(super) &'a [u8]);

impl<'a> Reader<'a> {
    pub(super) fn take<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (head, rest) = self.0.split_first_chunk::<N>()?;
        self.0 = rest;
        Some(*head)
    }
    pub(super) fn byte(&mut self) -> Option<u8> {
        self.take::<1>().map(|[byte]| byte)
    }
    pub(super) fn half(&mut self) -> Option<u16> {
        self.take().map(u16::from_le_bytes)
    }
    pub(super) fn word(&mut self) -> Option<u32> {
        self.take().map(u32::from_le_bytes)
    }
    pub(super) fn int(&mut self) -> Option<i32> {
        self.take().map(i32::from_le_bytes)
    }
    /// A yes or no; another byte is neither.
    pub(super) fn flag(&mut self) -> Option<bool> {
        match self.byte()? {
            0 => Some(false),
            1 => Some(true),
            _ => None,
        }
    }
    /// One of a list, by its place.
    pub(super) fn one_of<T: Copy>(&mut self, all: &[T]) -> Option<T> {
        all.get(usize::from(self.byte()?)).copied()
    }
    /// A text in a place of `room` bytes behind its length.
    pub(super) fn text(&mut self, room: usize) -> Option<&'a str> {
        let length = usize::from(self.byte()?);
        let (place, rest) = self.0.split_at_checked(room)?;
        self.0 = rest;
        core::str::from_utf8(place.get(..length)?).ok()
    }
    /// Nothing is left.
    pub(super) const fn ended(&self) -> bool {
        self.0.is_empty()
    }
}
