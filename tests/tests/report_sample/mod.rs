//! An invented job for the report's tests: curves of plausible shape, no physics behind them.
#![allow(dead_code, reason = "each test file uses a part of it")]

use valvewright_sim::report::data::*;

/// Length of the invented job, s.
pub const LENGTH: f64 = 2700.0;

const PHASES: [(&str, f64, f64, &str); 9] = [
    ("identify", 0.0, 150.0, "R-1234yf 99.4 %, air 0.6 %"),
    ("recover", 150.0, 900.0, "446 g recovered, two restarts after a pressure rise"),
    ("drain_oil", 900.0, 1020.0, "4.2 mL drained"),
    ("evacuate", 1020.0, 1860.0, "1.1 mbar reached, held 20 min"),
    ("leak_check", 1860.0, 2160.0, "rise 0.3 mbar in 5 min, flattening: tight"),
    ("inject_oil", 2160.0, 2200.0, "10.1 mL injected"),
    ("charge", 2200.0, 2380.0, "480.4 g by the scale, hose content allowed for"),
    ("verify", 2380.0, 2560.0, "pressures fit the charge"),
    ("clear_hoses", 2560.0, LENGTH, "hoses at 0.8 bar"),
];

fn ramp(t: f64, from: f64, to: f64) -> f64 {
    ((t - from) / (to - from)).clamp(0.0, 1.0)
}

fn low_side(t: f64) -> f64 {
    let emptied =
        5.9 * (-ramp(t, 150.0, 900.0) * 4.5).exp() + 0.35 * ramp(t, 640.0, 700.0) * (1.0 - ramp(t, 700.0, 720.0));
    let pumped = emptied * (1.0 - ramp(t, 1020.0, 1060.0)) + 0.0012;
    if t < 2200.0 { pumped } else { pumped + 5.4 * ramp(t, 2200.0, 2330.0).powf(0.4) - 4.6 * ramp(t, 2560.0, 2680.0) }
}

fn values(t: f64) -> Vec<f32> {
    let ripple = (t * 12.9898).sin() * 43_758.547;
    let noise = ripple - ripple.floor() - 0.5;
    let low = low_side(t);
    let recovered = 446.0 * ramp(t, 150.0, 880.0).powf(0.6);
    let charged = 480.4 * ramp(t, 2205.0, 2370.0);
    let vessel = 6000.0 + recovered - charged;
    let temperature = 21.5 + 3.0 * ramp(t, 150.0, 900.0) - 1.5 * ramp(t, 900.0, 2700.0);
    let discharge = 22.0 + 68.0 * ramp(t, 160.0, 500.0) * (1.0 - ramp(t, 900.0, 2000.0));
    let flow = if (150.0..880.0).contains(&t) { 1.4 * (1.0 - ramp(t, 150.0, 880.0)).sqrt() } else { 0.0 };
    let charge_flow = if (2205.0..2370.0).contains(&t) { 2.9 } else { 0.0 };
    [
        low + noise * 0.02,
        low,
        low + 0.2 * ramp(t, 0.0, 60.0) + noise * 0.02,
        6.1 + 0.6 * ramp(t, 150.0, 900.0) + noise * 0.02,
        (low * 1000.0 + noise * 0.1).min(100.0),
        low * 1000.0,
        temperature,
        discharge + noise,
        22.0 + noise * 0.2,
        temperature - 8.0 * ramp(t, 150.0, 400.0) * (1.0 - ramp(t, 900.0, 2400.0)),
        vessel + noise * 2.0,
        vessel,
        446.0 - recovered + charged,
        flow,
        charge_flow,
        0.4 + 0.3 * noise,
    ]
    .map(|value| value as f32)
    .to_vec()
}

/// The invented trace.
pub fn trace() -> Trace {
    use Group::{Flow, Mass, Pressure, Quality, Temperature, Vacuum};
    let spec = ChannelSpec::new;
    let channels = vec![
        spec("pt2", "PT-2 low side", "bar", Pressure, View::Shown),
        spec("pt2_true", "vehicle low side", "bar", Pressure, View::True),
        spec("pt3", "PT-3 high side", "bar", Pressure, View::Shown),
        spec("pt1", "PT-1 vessel", "bar", Pressure, View::Shown),
        spec("pt4", "PT-4 vacuum gauge", "mbar", Vacuum, View::Shown),
        spec("pt4_true", "vehicle low side", "mbar", Vacuum, View::True),
        spec("tt1", "TT-1 vessel wall", "degC", Temperature, View::Shown),
        spec("tt2", "TT-2 discharge", "degC", Temperature, View::Shown),
        spec("tt4", "TT-4 ambient", "degC", Temperature, View::Shown),
        spec("pool", "accumulator pool", "degC", Temperature, View::True),
        spec("wt1", "WT-1 vessel", "g", Mass, View::Shown),
        spec("wt1_true", "vessel", "g", Mass, View::True),
        spec("vehicle_m", "vehicle", "g", Mass, View::True),
        spec("suction", "recovery", "g/s", Flow, View::True),
        spec("charge", "charge", "g/s", Flow, View::True),
        spec("at2", "AT-2 cabinet, % LFL", "%", Quality, View::Shown),
    ];
    let tags =
        ["XV-1", "XV-2", "XV-3", "XV-4", "XV-5", "XV-6", "XV-7", "XV-8", "XV-9", "XV-10", "C-1", "P-1", "H-1", "K-1"];
    let mut trace = Trace::new(channels, &tags);
    trace.reserve(5401);
    for at in 0..=5400 {
        let t = f64::from(at) * 0.5;
        trace.record(t, &values(t));
    }
    for (index, from, to) in [
        (0, 20.0, 880.0),
        (1, 25.0, 880.0),
        (0, 1025.0, 2380.0),
        (1, 1025.0, 2190.0),
        (2, 155.0, 640.0),
        (2, 700.0, 880.0),
        (3, 150.0, 885.0),
        (4, 2205.0, 2340.0),
        (5, 1028.0, 1860.0),
        (8, 2165.0, 2180.0),
        (9, 2203.0, 2372.0),
        (10, 156.0, 640.0),
        (10, 820.0, 882.0),
        (11, 1024.0, 1870.0),
    ] {
        trace.switch(index, from, true);
        trace.switch(index, to, false);
    }
    for pulse in 0..6 {
        trace.switch(4, 2342.0 + 5.0 * f64::from(pulse), true);
        trace.switch(4, 2343.0 + 5.0 * f64::from(pulse), false);
        trace.switch(7, 930.0 + 9.0 * f64::from(pulse), true);
        trace.switch(7, 932.0 + 9.0 * f64::from(pulse), false);
    }
    trace.switch(13, 0.0, true);
    trace.phases = PHASES
        .map(|(name, start_s, end_s, _)| PhaseSpan {
            name: name.to_owned(),
            span: Interval { start_s, end_s },
            outcome: Outcome::Pass,
        })
        .to_vec();
    trace.hazards = vec![HazardBand {
        id: "H08",
        title: "vacuum pump sees pressure",
        steps: vec![(0.0, 1.0), (1_020.0, 0.7), (1_030.0, 0.3), (1_060.0, -0.1), (1_070.0, 1.0)],
    }];
    trace.close(LENGTH);
    trace
}

const EXHAUST: What = What { words: "of refrigerant out of the vacuum pump", kind: Kind::Flow };
const CODES: What = What { words: "times a code was taken again", kind: Kind::Count };
const HEAT: What = What { words: "in the gas behind C-1", kind: Kind::Temperature };

fn hazards() -> Vec<HazardResult> {
    let one = |id, title, what, si, worst_margin| HazardResult {
        id,
        title,
        level: HazardLevel::None,
        alert_t_s: None,
        accident_t_s: None,
        worst_margin,
        worst_t_s: 1_065.0,
        figure: HazardFigure::new(what, si),
        not_judged: None,
        unseen_t_s: None,
    };
    vec![
        HazardResult {
            level: HazardLevel::Accident,
            alert_t_s: Some(1_030.0),
            accident_t_s: Some(1_060.0),
            ..one("H08", "vacuum pump sees pressure", &EXHAUST, 5.2e-3, -0.09)
        },
        one("H09", "heater or compressor too hot", &HEAT, 370.0, 0.65),
        HazardResult {
            not_judged: Some("this run has no record store"),
            ..one("H17", "replacement code used twice", &CODES, 0.0, 1.0)
        },
    ]
}

/// The invented result.
pub fn result() -> RunResult {
    let notice = |t_s: f64, text: &str| NoticeRecord {
        t_s,
        id: "sample".to_owned(),
        text: text.to_owned().into(),
        notice: None,
    };
    RunResult {
        scenario: "mild_hatchback".to_owned(),
        seed: 1,
        without: Vec::new(),
        moved: Vec::new(),
        units: UNITS,
        verdict: Verdict::Pass,
        sim_seconds: LENGTH,
        wall_seconds: 0.04,
        ticks: 54_000,
        speed: RunResult::speed_of(LENGTH, 0.04),
        phases: PHASES
            .map(|(name, from, to, detail)| PhaseResult {
                name: name.to_owned(),
                outcome: Outcome::Pass,
                seconds: to - from,
                detail: detail.into(),
            })
            .to_vec(),
        recovered_g: ShownTrue { shown: Some(441.2), truth: 438.9 },
        charged_g: Charged { target: Some(480.0), shown: Some(480.4), truth: 476.7 },
        oil_drained_ml: Some(4.2),
        oil_drained_ml_true: 4.4,
        leak: LeakResult {
            verdict: "pass".to_owned(),
            pa_m3_per_s: Some(2.1e-4),
            g_per_year: Some(92.0),
            below_pa_m3_per_s: Some(2.9e-4),
            below_g_per_year: Some(127.0),
            smallest_pa_m3_per_s: Some(8.0e-5),
            smallest_g_per_year: Some(35.0),
        },
        notices: vec![
            notice(0.0, "Work order accepted: whole job, charge 480 g"),
            notice(12.0, "Is the sample filter free of oil?"),
            notice(17.0, "Confirmed: sample filter free of oil"),
            notice(150.0, "Gas identified: R-1234yf 99.4 %, air 0.6 %"),
            notice(640.0, "Compressor stopped at 0.30 bar, waiting for a pressure rise"),
            notice(700.0, "Pressure rose to 0.65 bar, recovery goes on"),
            notice(900.0, "Recovered 441 g"),
            notice(1020.0, "Oil drained: 4.2 mL"),
            notice(1860.0, "Vacuum of 1.1 mbar reached and held"),
            notice(2160.0, "Leak check passed"),
            notice(2380.0, "Charged 480.4 g"),
            notice(2700.0, "Job done. Couplers may be taken off."),
        ],
        faults: Vec::new(),
        interlocks: vec![InterlockRecord {
            t_s: 410.0,
            id: "I10".to_owned(),
            cause: "separator level high (LS-2)".to_owned(),
            reading: "contact open".into(),
            waits_for: "the end of this for 2 s".into(),
            to_clear: "clears by itself".to_owned(),
            cleared_t_s: Some(423.0),
            ..InterlockRecord::default()
        }],
        mass_balance_error_g: 3.1e-9,
        mass_balance_rel: 4.8e-13,
        energy_balance_error_rel: 2.2e-9,
        balances: vec![AccountLine {
            what: "refrigerant".to_owned(),
            unit: "g".to_owned(),
            scale: 6446.0,
            left: 0.0,
            error: 3.1e-9,
        }],
        plant_fault: None,
        trace_hash: "9f0c51b8a2d34e77".to_owned(),
        partial: false,
        controller: ControllerResult {
            name: "valvewright-core".to_owned(),
            joined: "built in".to_owned(),
            core: true,
            fault: None,
        },
        station: StationName { name: "workshop".to_owned(), title: "Small workshop".to_owned() },
        reached: Reached { vessel_g: 6_020.0, vessel_level: 0.41, vessel_bar: 6.4, escaped_g: 0.8 },
        hazards: hazards(),
        ledger: StationLedger::default(),
        jobs: Vec::new(),
        jobs_in_all: 1,
        board: None,
        expectations: vec![
            ExpectationResult { name: "verdict = pass".to_owned(), held: true, detail: "the verdict was pass".into() },
            ExpectationResult {
                name: "charged_within = 15 g".to_owned(),
                held: true,
                detail: "true charge -3.3 g against target, 11.7 g inside the limit".into(),
            },
            ExpectationResult {
                name: "recovered_share = 95 %".to_owned(),
                held: true,
                detail: "98.6 % of 445 g came out".into(),
            },
        ],
        stops: Vec::new(),
        replay: None,
    }
}

/// The result as that of its only job.
pub fn job(result: &RunResult) -> JobResult {
    JobResult {
        vehicle: "a sample".to_owned(),
        start_s: 0.0,
        end_s: result.sim_seconds,
        verdict: result.verdict,
        may_stand: false,
        phases: result.phases.clone(),
        recovered_g: result.recovered_g,
        charged_g: result.charged_g,
        oil_drained_ml: result.oil_drained_ml,
        oil_drained_ml_true: result.oil_drained_ml_true,
        leak: result.leak.clone(),
        trips: result.interlocks.iter().map(|one| one.id.clone()).collect(),
        reached: result.reached,
        accidents: Vec::new(),
        expectations: Vec::new(),
        properties: Vec::new(),
    }
}
