//! Values out of bytes, one after the other; where there are no more, zeros.

/// What is left of an input.
pub struct Take<'a>(pub &'a [u8]);

impl<'a> Take<'a> {
    /// Whether nothing is left.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
    /// The next byte.
    pub fn byte(&mut self) -> u8 {
        let Some((first, rest)) = self.0.split_first() else { return 0 };
        self.0 = rest;
        *first
    }
    /// The next two, low one first.
    pub fn half(&mut self) -> u16 {
        u16::from_le_bytes([self.byte(), self.byte()])
    }
    /// The next four, low one first.
    pub fn word(&mut self) -> u32 {
        u32::from_le_bytes([self.byte(), self.byte(), self.byte(), self.byte()])
    }
    /// The next bytes, as many as there are.
    pub fn bytes(&mut self, most: usize) -> &'a [u8] {
        let (first, rest) = self.0.split_at(most.min(self.0.len()));
        self.0 = rest;
        first
    }
    /// One of these.
    pub fn pick<T: Copy>(&mut self, all: &[T]) -> T {
        all[usize::from(self.byte()) % all.len()]
    }
}
