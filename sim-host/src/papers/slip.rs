//! A narrow strip of paper: lines of a fixed number of columns, wrapped at words, figures at the right, nothing cut off.

/// Lines no longer than their width.
pub struct Slip {
    width: usize,
    lines: Vec<String>,
}

fn letters(text: &str) -> usize {
    text.chars().count()
}

/// Text in lines of at most `width` letters, broken at common blanks; a word that is longer than a line goes on in the next one. Signs
/// that would move a printer's head are blanks.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let text: String = text.chars().map(|one| if one.is_control() { ' ' } else { one }).collect();
    let (mut lines, mut line) = (Vec::new(), String::new());
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        if !line.is_empty() && letters(&line) + 1 + letters(word) > width {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        for letter in word.chars() {
            if letters(&line) == width {
                lines.push(std::mem::take(&mut line));
            }
            line.push(letter);
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

impl Slip {
    /// An empty one of `width` columns.
    pub const fn new(width: usize) -> Self {
        Self { width, lines: Vec::new() }
    }

    /// A rule of one sign.
    pub fn rule(&mut self, sign: char) {
        self.lines.push(sign.to_string().repeat(self.width));
    }

    /// An empty line.
    pub fn gap(&mut self) {
        self.lines.push(String::new());
    }

    /// Text in the middle.
    pub fn centre(&mut self, text: &str) {
        let before = |line: &str| (self.width - letters(line)) / 2;
        let lines: Vec<String> =
            wrap(text, self.width).iter().map(|line| format!("{:1$}{line}", "", before(line))).collect();
        self.lines.extend(lines);
    }

    /// Text from the left, set in by `margin`.
    pub fn text(&mut self, text: &str, margin: usize) {
        let lines = wrap(text, self.width.saturating_sub(margin));
        self.lines.extend(lines.iter().map(|line| format!("{:margin$}{line}", "")));
    }

    /// A name at the left and what belongs to it at the right, in one line where both have room.
    pub fn pair(&mut self, name: &str, value: &str) {
        let room = self.width.saturating_sub(letters(name) + 1);
        if letters(value) <= room && !name.contains(char::is_control) && !value.contains(char::is_control) {
            self.lines.push(format!("{name} {value:>room$}"));
            return;
        }
        self.text(name, 0);
        let width = self.width;
        self.lines.extend(wrap(value, width).iter().map(|line| format!("{line:>width$}")));
    }

    /// All lines, each ended.
    pub fn finish(self) -> String {
        self.lines.into_iter().map(|line| line.trim_end().to_owned() + "\n").collect()
    }
}
