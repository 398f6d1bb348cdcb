//! The languages that what a controller tells can be read in.

/// A language, by its ISO 639-1 code.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Language {
    /// English.
    #[default]
    En,
    /// German.
    De,
    /// Spanish.
    Es,
    /// French.
    Fr,
}

impl Language {
    /// Every language, in the order of this list.
    pub const ALL: [Self; 4] = [Self::En, Self::De, Self::Es, Self::Fr];

    /// ISO 639-1, as in the `lang` attribute of a page and in the name of a folder.
    pub const fn code(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::De => "de",
            Self::Es => "es",
            Self::Fr => "fr",
        }
    }

    /// Its English name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::En => "English",
            Self::De => "German",
            Self::Es => "Spanish",
            Self::Fr => "French",
        }
    }
}
