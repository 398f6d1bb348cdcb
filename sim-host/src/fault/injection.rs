//! How each fault of the catalogue is brought about: its ways (modes), what its severity means, which devices it can be at.

use valvewright_core::frame::{Actuator, Analog, Scale, Switches};

use super::catalogue::{self, Entry, FaultId};
use super::effect::Effect;
use super::severity::Severity;

/// When a fault may begin.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Begins {
    /// At any moment.
    AnyTime,
    /// With the job only: it is a condition that the job starts from.
    WithTheJob,
    /// At a time that the file names, because it is prepared from the beginning of the run.
    AtATime,
}

impl Begins {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::AnyTime => "any moment",
            Self::WithTheJob => "with the job",
            Self::AtATime => "at a time",
        }
    }
}

/// What a way of failing is given to act with.
#[derive(Clone, Copy, Debug)]
pub struct Given {
    /// Severity, SI; 0 where it has none.
    pub severity: f64,
    /// The device, one of the injection's tags.
    pub tag: &'static str,
}

impl Given {
    /// The loop of its tag; PT-1 for a tag that is none, which the tests hold never to be.
    pub fn input(&self) -> Analog {
        input_of(self.tag).unwrap_or(Analog::Pt1)
    }

    /// The bridge of its tag.
    pub fn scale(&self) -> Scale {
        scale_of(self.tag).unwrap_or(Scale::Wt1A)
    }

    /// The actuator of its tag.
    pub fn actuator(&self) -> Actuator {
        Actuator::ALL.into_iter().find(|one| one.tag() == self.tag).unwrap_or(Actuator::Xv1)
    }

    /// The contacts of its tag.
    pub fn contacts(&self) -> u16 {
        contacts_of(self.tag).unwrap_or(0)
    }
}

/// The loop of a tag.
pub fn input_of(tag: &str) -> Option<Analog> {
    const TAGS: [&str; 14] = [
        "PT-1", "PT-2", "PT-3", "PT-4", "PT-5", "TT-1", "TT-2", "TT-3", "TT-4", "AT-2", "IT-1", "ST-1", "ET-1", "ET-2",
    ];
    TAGS.iter().position(|one| *one == tag).map(|at| Analog::ALL[at])
}

/// The bridge of a tag.
pub fn scale_of(tag: &str) -> Option<Scale> {
    ["WT-1A", "WT-1B", "WT-2", "WT-3"].iter().position(|one| *one == tag).map(|at| Scale::ALL[at])
}

/// The contacts of a tag.
pub fn contacts_of(tag: &str) -> Option<u16> {
    Some(match tag {
        "LS-1" => Switches::LS1_NOT_FULL,
        "LS-2" => Switches::LS2_NOT_HIGH,
        "PSH-1" => Switches::PSH1_HEALTHY,
        "PSH-2" => Switches::PSH2_HEALTHY,
        "FSL-1" => Switches::FSL1_FLOW,
        "ZS-1" => Switches::ZS1_DOOR_SHUT,
        "ZS-2" => Switches::ZS2_COUPLED,
        "HS-1A" => Switches::HS1_A_RELEASED,
        "HS-1B" => Switches::HS1_B_RELEASED,
        _ => return None,
    })
}

/// One way in which a fault shows.
#[derive(Clone, Copy, Debug)]
pub struct Mode {
    /// Its name in files; empty where a fault has one way only.
    pub name: &'static str,
    /// What it does, a clause: `the loop shows no current`.
    pub acts: &'static str,
    /// What its severity means; none where there is no more and no less of it.
    pub severity: Option<Severity>,
    /// What it does.
    pub does: fn(&Given) -> Vec<Effect>,
    /// How long it lasts by itself, s, where no end is planned.
    pub lasts: Option<fn(f64) -> f64>,
}

impl Mode {
    /// A way without severity.
    pub const fn plain(acts: &'static str, does: fn(&Given) -> Vec<Effect>) -> Self {
        Self { name: "", acts, severity: None, does, lasts: None }
    }

    /// A way with severity.
    pub const fn graded(acts: &'static str, severity: Severity, does: fn(&Given) -> Vec<Effect>) -> Self {
        Self { name: "", acts, severity: Some(severity), does, lasts: None }
    }

    /// The same under a name.
    #[must_use]
    pub const fn named(self, name: &'static str) -> Self {
        Self { name, ..self }
    }

    /// The same with another usual severity, in the unit of it.
    #[must_use]
    pub const fn usual(self, figure: f64) -> Self {
        let severity = match self.severity {
            Some(severity) => Some(severity.usually(figure)),
            None => None,
        };
        Self { severity, ..self }
    }

    /// The same, over by itself.
    #[must_use]
    pub const fn lasting(self, lasts: fn(f64) -> f64) -> Self {
        Self { lasts: Some(lasts), ..self }
    }
}

/// How a fault is brought about.
#[derive(Clone, Copy, Debug)]
pub struct Injection {
    /// Which fault.
    pub id: FaultId,
    /// Its ways; the first is the usual one.
    pub modes: &'static [Mode],
    /// Devices that it can be at; the first is the usual one.
    pub tags: &'static [&'static str],
    /// When it may begin.
    pub begins: Begins,
    /// What happened stays when it ends: what came in does not go out again.
    pub stays: bool,
    /// Why it cannot be injected, where it cannot.
    pub refused: Option<&'static str>,
    /// Where else it can be shown.
    pub also: Option<&'static str>,
}

impl Injection {
    /// At one device, with these ways.
    pub const fn new(number: u8, tags: &'static [&'static str], modes: &'static [Mode]) -> Self {
        Self { id: FaultId(number), modes, tags, begins: Begins::AnyTime, stays: false, refused: None, also: None }
    }

    /// One that cannot be injected, and why.
    pub const fn refused(number: u8, tags: &'static [&'static str], why: &'static str) -> Self {
        Self { refused: Some(why), ..Self::new(number, tags, &[]) }
    }

    /// The same, beginning only so.
    #[must_use]
    pub const fn beginning(self, begins: Begins) -> Self {
        Self { begins, ..self }
    }

    /// The same, which can be shown elsewhere too.
    #[must_use]
    pub const fn also(self, elsewhere: &'static str) -> Self {
        Self { also: Some(elsewhere), ..self }
    }

    /// The same, whose work stays.
    #[must_use]
    pub const fn staying(self) -> Self {
        Self { stays: true, ..self }
    }

    /// Its line of the catalogue.
    pub fn entry(&self) -> &'static Entry {
        static NONE: std::sync::LazyLock<Entry> = std::sync::LazyLock::new(|| Entry {
            id: String::new(),
            kind: String::new(),
            component: String::new(),
            tag: String::new(),
            failure_mode: String::new(),
            vocab: String::new(),
            parameters: String::new(),
            hazards: String::new(),
            detection: String::new(),
            expected_safe_reaction: String::new(),
            budget_s: String::new(),
            latent: String::new(),
        });
        catalogue::entry(self.id).unwrap_or(&NONE)
    }
}
