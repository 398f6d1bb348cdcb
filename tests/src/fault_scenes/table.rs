//! The scenes: for each way of each fault the job, what else is broken so that it matters, when it comes, and where it shows.

use super::{Level, Shown};
use crate::job_runs::Edit;

const HATCHBACK: &str = "mild_hatchback";
/// In the middle of the recovery.
const RECOVERING: (f64, f64) = (300.0, 330.0);
/// From the start of the order until its gas is identified.
const IDENTIFYING: (f64, f64) = (0.0, 120.0);
/// A power cut, and a while around it in which a start finds what was kept.
const CUT: &[&str] = &["F077 at=700s severity=5s"];
const AFTER_CUT: (f64, f64) = (699.9, 720.0);
/// The same with some writes before it.
const WRITING: (f64, f64) = (500.0, 720.0);
/// A gas that is pure enough, and not quite pure; one with air in it.
const NOT_QUITE: &[Edit<'static>] =
    &[("[vehicle.volumes]", "[vehicle.gas]\nR-1234yf = \"98.6 %\"\nR-134a = \"1.4 %\"\n[vehicle.volumes]")];
const AIRY: &[Edit<'static>] = &[("content = \"445 g\" ", "air = \"12 g\"\ncontent = \"60 g\" ")];

const fn shown(fault: &'static str, at: Level) -> Shown {
    Shown { fault, job: HATCHBACK, edits: &[], with: &[], span: RECOVERING, full: false, at }
}

const fn identifying(fault: &'static str, edits: &'static [Edit<'static>]) -> Shown {
    Shown { edits, span: IDENTIFYING, ..shown(fault, Level::Frame) }
}

const fn beside(fault: &'static str, with: &'static [&'static str], span: (f64, f64), at: Level) -> Shown {
    Shown { with, span, ..shown(fault, at) }
}

use Level::{Frame, Machine, Panel, Plant, Truth as Touched};

/// A scene for each way of each fault, in the order of the catalogue.
pub const SHOWN: &[Shown] = &[
    shown("F001", Frame),
    shown("F002", Frame),
    shown("F003 mode=held", Frame),
    shown("F003 mode=frozen", Frame),
    shown("F004", Frame),
    shown("F005", Frame),
    shown("F006 mode=white", Frame),
    shown("F006 mode=bursts", Frame),
    shown("F007", Frame),
    shown("F008", Frame),
    shown("F009 mode=held", Frame),
    shown("F009 mode=frozen", Frame),
    shown("F010", Frame),
    shown("F011", Frame),
    // The gauge shows less than 100 mbar only in vacuum.
    Shown { span: (1500.0, 1520.0), ..shown("F012", Frame) },
    shown("F013", Frame),
    shown("F014", Frame),
    shown("F015", Frame),
    shown("F016", Frame),
    shown("F017", Frame),
    shown("F018 mode=held", Frame),
    shown("F018 mode=value", Frame),
    shown("F019", Frame),
    shown("F020", Frame),
    shown("F021", Frame),
    shown("F021 tag=WT-1B", Frame),
    shown("F022 mode=high", Frame),
    shown("F022 mode=low", Frame),
    shown("F023 mode=share", Frame),
    shown("F023 mode=rate", Frame),
    shown("F024", Frame),
    shown("F025", Frame),
    shown("F026 mode=constant", Frame),
    shown("F026 mode=spring", Frame),
    shown("F027", Frame),
    shown("F028", Frame),
    shown("F029 mode=frozen", Frame),
    shown("F029 mode=stuck", Frame),
    shown("F030", Frame),
    identifying("F031", &[]),
    identifying("F032", &[]),
    identifying("F033 mode=old_report", &[]),
    identifying("F033 mode=old_result", NOT_QUITE),
    identifying("F034", NOT_QUITE),
    identifying("F035", &[]),
    Shown { at: Touched, ..identifying("F036", &[]) },
    identifying("F037", AIRY),
    identifying("F038", &[]),
    shown("F039", Frame),
    beside("F040", &["F128 mode=vapour severity=0.3mm at=290s"], RECOVERING, Frame),
    beside("F041", &["F128 mode=vapour severity=0.3mm at=290s"], RECOVERING, Frame),
    shown("F042", Frame),
    beside("F043", &["F056 at=100s"], (100.0, 900.0), Frame),
    beside("F044", &["F056 at=100s"], (100.0, 900.0), Frame),
    beside("F045", &["F070 at=300s"], RECOVERING, Frame),
    beside("F046", &["F114 at=300s"], RECOVERING, Frame),
    beside("F047", &["F113 at=300s"], RECOVERING, Frame),
    Shown { full: true, ..shown("F048", Frame) },
    Shown { full: true, ..shown("F049", Frame) },
    beside("F050", &["F115 at=300s"], RECOVERING, Frame),
    beside("F050 tag=HS-1B", &["F115 at=300s"], RECOVERING, Frame),
    shown("F051", Plant("XV-1.opening")),
    Shown { span: (100.0, 110.0), ..shown("F052", Plant("XV-2.opening")) },
    beside("F053", &["F062 tag=XV-10 at=300s"], RECOVERING, Plant("XV-5+XV-10+XV-1.opening")),
    beside("F054", &["F062 tag=XV-10 at=300s"], RECOVERING, Plant("XV-5+XV-10+XV-1.opening")),
    Shown { span: (2600.0, 2760.0), ..shown("F055", Plant("XV-5+XV-10+XV-1.opening")) },
    shown("F056", Plant("XV-4.opening")),
    shown("F057", Plant("XV-6.opening")),
    shown("F058", Plant("XV-7.opening")),
    shown("F059", Plant("XV-8.opening")),
    shown("F060", Plant("XV-9+XV-1.flow_oil")),
    shown("F061", Plant("XV-1.opening")),
    shown("F062 tag=XV-7", Plant("XV-7.opening")),
    shown("F063 tag=XV-3", Plant("XV-3.opening")),
    Shown { span: (900.0, 1400.0), ..shown("F064", Plant("C-1.opening")) },
    shown("F065", Touched),
    shown("F066", Plant("C-1.flow")),
    shown("F067", Plant("P-1.opening")),
    Shown { span: (1500.0, 1520.0), ..shown("F068", Plant("pump_inlet.p")) },
    beside("F069", &["F135 at=300s"], RECOVERING, Plant("H-1+H-2.power")),
    shown("F070", Plant("K-1.opening")),
    shown("F071", Frame),
    shown("F072", Plant("vessel.m")),
    // A full vessel that has stood in 60 degC, and a heater that does not stop.
    Shown {
        edits: &[("vessel_content = \"6 kg\"", "vessel_content = \"10 kg\"")],
        ..beside("F073", &["F120 severity=60degC", "F069", "F135"], (0.0, 3000.0), Plant("PSV-1.flow"))
    },
    beside("F074", &["F061 tag=XV-4"], (0.0, 20.0), Plant("discharge.m")),
    shown("F075", Plant("separator.p")),
    Shown { span: (300.0, 400.0), ..shown("F076", Plant("vessel.m_water")) },
    shown("F077", Touched),
    beside("F078 mode=before", &[], WRITING, Machine),
    beside("F078 mode=mid", &[], WRITING, Machine),
    beside("F078 mode=after", &[], WRITING, Machine),
    shown("F079 mode=slow", Touched),
    shown("F079 mode=fast", Touched),
    shown("F080", Touched),
    shown("F081", Touched),
    beside("F082", &["F079 mode=slow at=300s"], RECOVERING, Frame),
    beside("F083 mode=one_copy", CUT, AFTER_CUT, Level::Store),
    beside("F083 mode=both_copies", CUT, AFTER_CUT, Level::Store),
    beside("F084", CUT, (650.0, 720.0), Level::Store),
    beside("F085", CUT, AFTER_CUT, Level::Store),
    beside("F086", &[], WRITING, Level::Store),
    beside("F087", CUT, WRITING, Level::Store),
    beside("F088", CUT, AFTER_CUT, Level::Store),
    beside("F089", CUT, AFTER_CUT, Level::Store),
    beside("F090", CUT, WRITING, Level::Store),
    beside("F091", CUT, WRITING, Level::Store),
    shown("F092", Frame),
    shown("F093", Frame),
    shown("F094", Frame),
    shown("F095", Machine),
    Shown { span: (40.0, 45.0), ..shown("F096", Machine) },
    shown("F097", Machine),
    beside("F098", &["F097 at=300s"], RECOVERING, Level::Outputs),
    shown("F099", Panel),
    shown("F100", Frame),
    shown("F101", Frame),
    shown("F102 mode=skip", Machine),
    shown("F102 mode=repeat", Machine),
    shown("F103", Machine),
    shown("F104", Frame),
    shown("F104 tag=WT-1A", Frame),
    shown("F105", Machine),
    shown("F106", Frame),
    Shown { job: "filter_exchanged", span: (10.0, 60.0), ..shown("F107", Panel) },
    Shown { job: "filter_exchanged", span: (25.0, 60.0), ..shown("F108", Panel) },
    shown("F109", Frame),
    Shown { span: (0.0, 10.0), ..shown("F110", Panel) },
    Shown { edits: ELECTRIC, span: (0.0, 10.0), ..shown("F111", Panel) },
    shown("F112", Panel),
    shown("F113", Touched),
    shown("F114", Touched),
    shown("F115", Touched),
    Shown { span: (0.0, 10.0), ..shown("F116", Panel) },
    Shown { span: (0.0, 10.0), ..shown("F117", Panel) },
    shown("F118", Plant("XV-4.flow")),
    shown("F119", Touched),
    shown("F120", Touched),
    shown("F121 mode=refrigerant", Touched),
    shown("F121 mode=hydrocarbon", Touched),
    shown("F122", Plant("vehicle_low.m_air")),
    shown("F123", Plant("vessel.p")),
    shown("F124", Plant("accumulator.m_pool")),
    shown("F125", Plant("F125#1.flow")),
    shown("F126", Plant("F126#1.flow")),
    shown("F127", Plant("cabinet.lfl")),
    shown("F128 mode=liquid", Plant("cabinet.lfl")),
    shown("F128 mode=vapour", Plant("cabinet.lfl")),
    shown("F129", Frame),
    shown("F130", Frame),
    shown("F131", Touched),
    shown("F132", Plant("hose_low.t_wall")),
    shown("F133 mode=span", Frame),
    shown("F133 mode=offset", Frame),
    shown("F133 mode=stuck", Frame),
    shown("F133 mode=drift", Frame),
    shown("F134", Frame),
    beside("F135", &["F069 at=300s"], RECOVERING, Plant("H-1+H-2.power")),
    beside("F136", &["F070 at=300s"], RECOVERING, Frame),
    shown("F137 mode=span", Frame),
    shown("F137 mode=drift", Frame),
    shown("F138 mode=lost", Machine),
    shown("F138 mode=late", Machine),
    shown("F138 mode=repeated", Frame),
];

/// A vehicle with high voltage whose driver says so.
const ELECTRIC: &[Edit<'static>] = &[("charge_label = \"480 g\" ", "high_voltage = true\ncharge_label = \"480 g\" ")];
