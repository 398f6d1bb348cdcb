//! What each hazard is: who is harmed, when it is true, where it alerts, where it harms and why there, and how long it takes.

/// How many there are.
pub const HAZARD_COUNT: usize = 25;

macro_rules! ids {
    ($($id:ident),*) => {
        /// A hazard by its number.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[repr(u8)]
        #[expect(missing_docs, reason = "the catalogue says what each is")]
        pub enum Id { $($id),* }

        impl Id {
            /// All of them.
            pub const EVERY: [Self; HAZARD_COUNT] = [$(Self::$id),*];

            /// As it is printed.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$id => stringify!($id)),* }
            }
        }
    };
}

ids!(
    H01, H02, H03, H04, H05, H06, H07, H08, H09, H10, H11, H12, H13, H14, H15, H16, H17, H18, H19, H20, H21, H22, H23,
    H24, H25
);

/// One hazard.
#[derive(Debug)]
pub struct Entry {
    /// Its number.
    pub id: Id,
    /// What it is.
    pub title: &'static str,
    /// Who or what is harmed.
    pub harm: &'static str,
    /// What must be true of the plant, and nothing else, for it to be there.
    pub truth: &'static str,
    /// From where on a limit is passed.
    pub alert: &'static str,
    /// From where on it harms, and why there.
    pub accident: &'static str,
    /// Time from the loss of control to the harm.
    pub time: &'static str,
    /// Where the figures come from.
    pub source: &'static str,
}

const fn entry(id: Id, texts: [&'static str; 7]) -> Entry {
    let [title, harm, truth, alert, accident, time, source] = texts;
    Entry { id, title, harm, truth, alert, accident, time, source }
}

/// All of them, in the order of their numbers.
pub static CATALOGUE: [Entry; HAZARD_COUNT] = [
    entry(
        Id::H01,
        [
            "gas in the cabinet is lit",
            "fire at the station",
            "gas in the cabinet as a share of its lower flammable limit (6.2 % by volume for R-1234yf), and whether a motor or a contactor is on",
            "a quarter of the limit",
            "the limit, while C-1, P-1, H-1 or H-2 is on; without one of them it stays an alert",
            "1 mm vapour hole: 5 s to the alert, 21 s to the limit; 0.5 mm in a liquid line: 2.5 s and 10 s",
            "IEC 60335-2-40 Annex LL for the quarter (an excerpt was read); times computed for 0.15 m3 of still air",
        ],
    ),
    entry(
        Id::H02,
        [
            "vessel full of liquid",
            "the vessel bursts or its relief valve lifts",
            "share of the vessel that liquid takes",
            "content that would fill 80 % with liquid at 25 degC, or 90 % at its own temperature",
            "98 % at its own temperature: the last gas is gone within 3 K, then pressure rises by 3.5 to 4.2 bar/K",
            "9 min from 80 % to full at 5 g/s",
            "40 CFR 82 Subpart B Appendix C 7.2 for the 80 %; the rest computed",
        ],
    ),
    entry(
        Id::H03,
        [
            "liquid locked between shut valves",
            "a hose or pipe bursts",
            "a hose, the manifold or the discharge pipe that is shut at all its ends, its share of liquid, its pressure",
            "more than 95 % liquid and shut at all its ends",
            "that, and 34.5 bar: the working pressure of service hoses",
            "5 bar/K in a stiff pipe: some 6 min at 1 K/min",
            "pressure of hoses from memory (SAE J2196 class, 500 psi); rise computed; the piece between XV-5 and XV-10 is no volume of the plant and is not seen",
        ],
    ),
    entry(
        Id::H04,
        [
            "foreign gas drawn into the vessel",
            "the vessel's content is spoilt, and every vehicle charged from it",
            "share of other gas in the vessel's refrigerant, and in what an open recovery way draws from",
            "half a percent in the vessel, or an open way on a vehicle with more than 2 %",
            "2 %: recovered refrigerant counts as pure from 98 % on",
            "50 g in 10 s at 5 g/s: half a percent of 10 kg; one vehicle of 0.5 kg is 4.8 %",
            "SAE J2099 for the 98 % (an excerpt was read); the half percent is our own choice",
        ],
    ),
    entry(
        Id::H05,
        [
            "air in the vessel or the compressor",
            "pressure and poor cooling; a mixture that burns under pressure",
            "air in the vessel by mass; air by volume in what the running C-1 draws from the separator",
            "150 ppm in the vessel, or a tenth by volume drawn",
            "60 % by volume drawn with pressure behind C-1: from there on such mixtures burn; air in the vessel alone has no accident level",
            "one wrong recovery of 3 L of air brings 2.4 times the limit of 10 kg",
            "SAE J2099 for the 150 ppm and safety data sheets of R-134a for the 60 %, both from memory; the tenth is our own choice",
        ],
    ),
    entry(
        Id::H06,
        [
            "charge too high or too low",
            "the vehicle cools badly, its compressor fails",
            "refrigerant in the vehicle against the order, when the order is over: after a charge, or where the operator was told that all is done",
            "7.5 g off; also that much too much during the job, or any amount missing where the operator was told that the order failed",
            "15 g too much, for that stays in the vehicle; 15 g missing where the operator was told that all is done, for that is how a vehicle is handed over",
            "1 s: liquid comes at 10 to 17 g/s",
            "15 g from memory (SAE J2788, J2843); its half is our own choice",
        ],
    ),
    entry(
        Id::H07,
        [
            "liquid into the compressor",
            "the compressor breaks within one turn",
            "share of the separator that liquid and oil fill, and whether C-1 is on",
            "85 %, also before a C-1 that stands",
            "98 % while C-1 is on: from there on its gas outlet carries liquid over",
            "0.5 L fill in 32 s at 17 g/s; then one turn, 20 ms",
            "the plant's own outlet; 85 % is our own choice; times computed",
        ],
    ),
    entry(
        Id::H08,
        [
            "vacuum pump sees pressure",
            "oil and gas blown out, fire",
            "pressure before the open XV-6 over the barometer; refrigerant out of the pump",
            "50 mbar, or 0.5 g/s out of the pump",
            "100 mbar: seals and oil go; or 4.8 g/s: the fan's 60 m3/h that carry it away would burn",
            "1 s: on 6.8 bar the pump would pass 44 g/s",
            "100 mbar and 0.5 g/s are our own choice; 4.8 g/s computed",
        ],
    ),
    entry(
        Id::H09,
        [
            "heater or compressor too hot",
            "burns, fire, a burst pipe",
            "skin of the heater; gas behind C-1; pressure behind C-1; C-1 on with XV-4 shut",
            "100 degC, 130 degC, 26 bar, more than 1 s against a shut XV-4",
            "177 degC: oil breaks down; 30 bar: what such pipework is rated for",
            "300 W on 0.5 kg of dry steel: 1.2 K/s; against a dead end some 3 s",
            "177 degC (350 degF) from memory; 30 bar common practice, no source; times computed",
        ],
    ),
    entry(
        Id::H10,
        [
            "charging into a leaking circuit",
            "gas escapes at the vehicle",
            "the vehicle's hole and what flows out of it, while a way from the vessel to the vehicle is open",
            "0.05 g/h: what the finest vacuum hold can show",
            "2.9 g/h, a hole of 20 um: what a hold of five minutes shows",
            "hours: what counts is that it is found",
            "computed: 0.5 mbar in 30 min and 5 mbar in 5 min on 3 L",
        ],
    ),
    entry(
        Id::H11,
        [
            "wrong oil under high voltage",
            "electric shock when its insulation has gone",
            "new oil of another kind that left its bottle towards the vehicle; what stays in hoses is not told apart by kind",
            "0.1 g, or any amount into a vehicle without high voltage",
            "1 g into a vehicle with high voltage: the first gram stays",
            "none: it cannot be taken back",
            "the first gram from the hazard analysis; 0.1 g is our own choice",
        ],
    ),
    entry(
        Id::H12,
        [
            "fouled identifier is believed",
            "foreign gas is let in",
            "oil stands in the identifier, and refrigerant is taken in from that connection",
            "1 g taken in",
            "50 g taken in: half a percent of 10 kg",
            "one sample, 1 to 3 min",
            "computed from H04",
        ],
    ),
    entry(
        Id::H13,
        [
            "refrigerant vented",
            "gas about the station; it is forbidden",
            "refrigerant that one opening of XV-7 or XV-8 lets out; openings within a minute are one",
            "5 g",
            "21.6 g: half of what fills the cabinet to its limit",
            "1 mm vapour way: 2 g/s, 5 s to a quarter of the limit in the cabinet",
            "5 g and the minute are our own choice; 21.6 g computed",
        ],
    ),
    entry(
        Id::H14,
        [
            "way open though told to be shut",
            "whatever that way leads to",
            "what passes a way whose valves stand open though one of them is told to be shut",
            "1 g",
            "15 g: a charge is spoilt",
            "1 s for charge and vacuum, 5 s for the drain",
            "15 g as in H06",
        ],
    ),
    entry(
        Id::H15,
        [
            "scale looks well and is wrong",
            "a wrong charge, a vessel too full",
            "each bridge of WT-1 against what stands on it, while something is charged or recovered by it",
            "10 g and 0.2 % for 3 s",
            "an error that moved by more than 15 g for 3 s while a charge was measured: the charge is wrong whatever is done",
            "1 s: 0.15 N on a hose are 15 g",
            "10 g and 0.2 % from the hazard analysis; 3 s are our own choice",
        ],
    ),
    entry(
        Id::H16,
        [
            "moisture in the vessel",
            "acid and ice in every vehicle that is charged",
            "water in the vessel's refrigerant by mass; the plant has no drier, so that what comes in stays",
            "50 ppm",
            "1000 ppm: near what the liquid dissolves, beyond it there is free water",
            "hours to weeks",
            "50 ppm from memory (SAE J2099); solubility of water in R-134a from memory",
        ],
    ),
    entry(
        Id::H17,
        [
            "replacement code used twice",
            "a worn part goes on",
            "codes taken more often than once over all power cycles, lives begun without one",
            "none: once is an accident",
            "once",
            "one write",
            "by definition",
        ],
    ),
    entry(
        Id::H18,
        [
            "counter falls over a power cut",
            "a worn part goes on",
            "a counter after a start against what was stored before, as a share of its life: 68 kg for the drier, 60 h for pump oil",
            "any fall that can be told from none, a millionth",
            "a hundredth of the life; a store that gives nothing back is none, where the station then counts the life as over",
            "one write, 1 to 50 ms",
            "lives are common practice, no source; shares are our own choice",
        ],
    ),
    entry(
        Id::H19,
        [
            "clock alters a life or a wait",
            "a wait is cut short, a worn part goes on",
            "error of a duration or age against true time",
            "0.5 %",
            "1 %",
            "none for motion where durations come from the tick",
            "1 % from the hazard analysis, its half our own choice; it needs something that is reckoned from the wall clock",
        ],
    ),
    entry(
        Id::H20,
        [
            "controller stalls in a phase",
            "valves stay open: a wrong charge, a vessel too full",
            "time that outputs stand without being renewed while a valve or motor is on",
            "0.5 s: the watchdog's",
            "1 s: a charge runs past its 15 g",
            "0.5 s are 5 to 9 g, 3 s are 30 to 51 g",
            "computed",
        ],
    ),
    entry(
        Id::H21,
        [
            "blind interlock",
            "that of the hazard it guards against",
            "a loop that looks well (3.8 to 20.5 mA) and is wrong by more than five times its class, while something is on",
            "for 10 s",
            "for 10 s while a hazard it guards against is at its alert level or beyond",
            "that of the hazard",
            "band of a sound loop after NAMUR NE 43; five times and 10 s are our own choice",
        ],
    ),
    entry(
        Id::H22,
        [
            "ventilation lost or door open",
            "gas of any leak stays",
            "time that a valve or motor is on with the fan below half its speed or flow, or with the door open",
            "5 s: a 1 mm hole fills the cabinet to a quarter of its limit",
            "21 s: to the limit",
            "5 to 21 s for a vapour hole of 0.5 to 1 mm",
            "computed for 0.15 m3 of still air; half speed is our own choice",
        ],
    ),
    entry(
        Id::H23,
        [
            "relief valve lifts",
            "gas in the room",
            "pressure of the vessel against the set pressure of its relief valve; flow through it",
            "nine tenths",
            "the set pressure, or any flow",
            "300 W warm 10 kg by 1.3 K/min",
            "hazard analysis; computed",
        ],
    ),
    entry(
        Id::H24,
        [
            "motion after power returns",
            "whoever works at the station",
            "a valve or motor that goes on after a restart before the operator does anything; or coils that hold while the processor is dead",
            "none: once is an accident",
            "once",
            "10 to 50 ms for a coil",
            "hazard analysis; 12 V and 8 V of a 24 V supply are our own choice",
        ],
    ),
    entry(
        Id::H25,
        [
            "coupler opened under pressure",
            "cold burns",
            "pressure and content of each hose at the moment when its coupler comes off",
            "more than 1.3 bar, or half of the accident's content",
            "more than 1.3 bar and 5 g: there is liquid in it; a hose of vapour holds 2 g and hisses",
            "0.5 s; 59 g of liquid in a full hose",
            "1.3 bar from the hazard analysis; contents computed",
        ],
    ),
];
