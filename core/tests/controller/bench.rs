//! A bare controller on a scripted bench: a world of plain numbers in, notices and outputs out, no plant behind it.

use std::collections::VecDeque;

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{
    ANALOG_COUNT, Actuator, Actuators, Feed, Machine, Outputs, RawFrame, ScaleSample, SelfChecks, Switches,
};
use valvewright_core::job::{PhaseKind, PhaseSet, WorkOrder};
use valvewright_core::sense::GasReport;
use valvewright_core::sense::identifier::{Flags, RequestListener, encode_report};
use valvewright_core::station::Station;
use valvewright_core::talk::{Command, Notice};
use valvewright_core::units::{Instant, Milligram, Millis, Permille};

/// What the flow switch FSL-1 does.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FlowSwitch {
    /// Closes three seconds after the fan starts and opens three seconds after it stops.
    Follows,
    /// Always closed.
    StuckClosed,
    /// Always open.
    StuckOpen,
}

/// What the instruments would touch.
#[derive(Clone, Debug)]
pub struct World {
    /// PT-1, Pa.
    pub p_vessel: f64,
    /// PT-2, Pa.
    pub p_low: f64,
    /// PT-3, Pa.
    pub p_high: f64,
    /// PT-4, Pa; saturates above 10 kPa.
    pub p_vacuum: f64,
    /// PT-5, Pa; `None` follows the hoses while XV-3 is open and stays when it shuts.
    pub p_separator: Option<f64>,
    /// TT-1, degC; `None` is a broken wire.
    pub wall: Option<f64>,
    /// TT-2 before C-1 runs, degC; it warms by up to 5 K while it does.
    pub discharge: f64,
    /// TT-3, degC; not a number where no wire is.
    pub heater: f64,
    /// TT-4, degC.
    pub ambient: f64,
    /// AT-2, % LFL.
    pub lfl: f64,
    /// IT-1 in A; `None` follows C-1.
    pub current: Option<f64>,
    /// WT-1, WT-2, WT-3 in g.
    pub grams: [f64; 3],
    /// What WT-1B shows more than WT-1A, g.
    pub apart: f64,
    /// ST-1 in rpm; `None` follows K-1.
    pub fan_rpm: Option<f64>,
    /// ET-1, V.
    pub supply: f64,
    /// ET-2, V; `None` follows ET-1 through the rail's relay.
    pub rail: Option<f64>,
    /// FSL-1.
    pub flow: FlowSwitch,
    /// Contacts that are open whatever else holds.
    pub open: u16,
    /// ZS-3: the couplers sit on the flush port.
    pub flush_port: bool,
    /// What the identifier answers, one each request; silent when empty. The sample id is put in.
    pub reports: VecDeque<GasReport>,
}

impl Default for World {
    /// At rest at 21 degC with a charged vehicle and 6 kg of R-1234yf in the vessel.
    fn default() -> Self {
        Self {
            p_vessel: 610_000.0,
            p_low: 600_000.0,
            p_high: 600_000.0,
            p_vacuum: 101_325.0,
            p_separator: None,
            wall: Some(21.0),
            discharge: 21.0,
            heater: 21.0,
            ambient: 21.0,
            lfl: 0.0,
            current: None,
            grams: [6_000.0, 0.0, 250.0],
            apart: 0.0,
            fan_rpm: None,
            supply: 24.0,
            rail: None,
            flow: FlowSwitch::Follows,
            open: 0,
            flush_port: false,
            reports: VecDeque::new(),
        }
    }
}

/// A report of R-1234yf with so many parts per thousand of each; the rest is another fluorinated gas.
pub fn report(r1234yf: i32, hydrocarbon: i32, air: i32, healthy: bool) -> GasReport {
    GasReport {
        sample_id: 0,
        r134a: Permille(0),
        r1234yf: Permille(r1234yf),
        other: Permille(1_000 - r1234yf - hydrocarbon),
        hydrocarbon: Permille(hydrocarbon),
        air: Permille(air),
        healthy,
    }
}

/// An order of these phases with a charge of 500 g and short times.
pub fn order(phases: &[PhaseKind]) -> WorkOrder {
    WorkOrder {
        phases: PhaseSet::of(phases),
        evacuate: Millis::from_secs(60),
        leak_hold: Millis::from_secs(120),
        ..WorkOrder::whole(Milligram::from_grams(500))
    }
}

/// KT-1 when a bench begins, s.
const CLOCK: u32 = 1_000_000;

/// Scans of one bench, so that a test that waits for what never comes ends: twenty hours.
const MOST_SCANS: u32 = 1_500_000;

/// The bench.
#[derive(Clone, Debug)]
pub struct Bench {
    /// The controller.
    pub station: Station,
    /// What its instruments touch.
    pub world: World,
    /// Outputs of the last scan.
    pub outputs: Outputs,
    /// Everything it said.
    pub notices: Vec<Notice>,
    /// Nobody takes notices.
    pub deaf: bool,
    /// The record store answers nothing.
    pub store_stands: bool,
    /// The identifier is still busy with its sample.
    pub slow: bool,
    /// Self-checks that fail.
    pub failed: SelfChecks,
    now: u32,
    scans: u32,
    fan_for: u32,
    /// What C-1 has warmed its discharge by, K.
    warmed: f64,
    /// What C-1 brought has raised the vessel's pressure by, Pa; and the vessel's mass of the last scan.
    raised: f64,
    weighed: f64,
    /// PT-1, Pa: no vessel moves by steps of half a bar, and this one by 1 bar/s at most.
    vessel: f64,
    slews: bool,
    separator: f64,
    sequence: u8,
    listener: RequestListener,
    answer: Option<GasReport>,
}

impl Bench {
    /// The reference station for R-1234yf at power-on.
    pub fn new() -> Self {
        Self::with(StationConfig::reference(Refrigerant::R1234yf))
    }

    /// Another station.
    pub fn with(cfg: StationConfig) -> Self {
        Self {
            station: Station::new(cfg, Millis(0)),
            world: World::default(),
            outputs: Outputs::default(),
            notices: Vec::new(),
            deaf: false,
            store_stands: false,
            slow: false,
            failed: SelfChecks::NONE,
            now: 0,
            scans: 0,
            // The fan stood before power-on.
            fan_for: 0,
            warmed: 0.0,
            raised: 0.0,
            weighed: 6_000.0,
            vessel: f64::NAN,
            slews: false,
            separator: 50_000.0,
            sequence: 0,
            listener: RequestListener::new(),
            answer: None,
        }
    }

    /// A station whose air is proven and whose first phase of `order` has begun; scales at rest.
    pub fn running(order: WorkOrder) -> Self {
        Self::running_as(StationConfig::reference(Refrigerant::R1234yf), order)
    }

    /// The same of another station.
    pub fn running_as(cfg: StationConfig, order: WorkOrder) -> Self {
        let mut bench = Self::with(cfg);
        bench.seconds(5);
        bench.start(1, order);
        assert!(bench.until(60, |b| b.notices.contains(&Notice::AirProven)), "air was not proven: {:?}", bench.notices);
        bench
    }

    /// Monotonic tick, ms.
    pub fn now(&self) -> u32 {
        self.now
    }
    /// What is on.
    pub fn on(&self) -> Actuators {
        self.outputs.on
    }
    /// Gives a start.
    pub fn start(&mut self, id: u16, order: WorkOrder) {
        self.give(Command::Start { id, order });
    }
    /// One scan with a command.
    pub fn give(&mut self, command: Command) {
        self.scan(Some(command));
    }
    /// Answers the question that stands open, in one scan.
    pub fn answer(&mut self, yes: bool) {
        let number = self.station.job().asked().map_or(0, |asked| asked.number);
        self.give(if yes { Command::Confirm(number) } else { Command::Decline(number) });
    }
    /// So many seconds without a command.
    pub fn seconds(&mut self, seconds: u32) {
        for _ in 0..seconds * 20 {
            self.scan(None);
        }
    }
    /// Scans until `done`, at most so many seconds; whether it came.
    pub fn until(&mut self, seconds: u32, done: impl Fn(&Self) -> bool) -> bool {
        (0..seconds * 20).any(|_| {
            self.scan(None);
            done(self)
        })
    }
    /// The same with something that changes the world before each scan.
    pub fn until_with(&mut self, seconds: u32, mut each: impl FnMut(&mut Self), done: impl Fn(&Self) -> bool) -> bool {
        (0..seconds * 20).any(|_| {
            each(self);
            self.scan(None);
            done(self)
        })
    }

    /// One scan of 50 ms.
    pub fn scan(&mut self, command: Option<Command>) {
        self.scan_after(50, command);
    }

    /// One scan so many milliseconds after the last.
    pub fn scan_after(&mut self, ms: u32, command: Option<Command>) {
        self.now = self.now.wrapping_add(ms);
        self.scans += 1;
        assert!(self.scans < MOST_SCANS, "no end: {:?}", self.station.job().records());
        let frame = self.frame(ms, command);
        self.outputs = self.station.tick(Instant(self.now), &frame);
        while !self.deaf
            && let Some(notice) = self.station.take_notice()
        {
            self.notices.push(notice);
        }
        if let Some(id) = self.listener.feed(&self.outputs.identifier) {
            self.answer = self.world.reports.pop_front().map(|r| GasReport { sample_id: id, ..r });
        }
    }

    fn frame(&mut self, ms: u32, command: Option<Command>) -> RawFrame {
        if self.outputs.on.has(Actuator::Xv3) {
            self.separator = self.world.p_low.min(self.world.p_high);
        }
        let warms = if self.outputs.on.has(Actuator::C1) { 0.005 } else { -0.005 };
        self.warmed = (self.warmed + warms).clamp(0.0, 5.0);
        // 0.05 kPa a gram, a quarter of what the reference vessel does, and gone in a minute or two.
        let came = if self.outputs.on.has(Actuator::C1) { (self.world.grams[0] - self.weighed).max(0.0) } else { 0.0 };
        self.raised = (self.raised + 50.0 * came - 2.0).max(0.0);
        self.weighed = self.world.grams[0];
        let to = self.world.p_vessel + self.raised;
        let (most, off) = (100.0 * f64::from(ms), (to - self.vessel).abs());
        // A gauge that breaks or rustles does.
        self.slews = (0.0..3.5e6).contains(&to) && off > if self.slews { most } else { 45_000.0 };
        self.vessel =
            if !self.slews || self.vessel.is_nan() { to } else { to.clamp(self.vessel - most, self.vessel + most) };
        let w = &self.world;
        let amps = w.current.unwrap_or(if self.outputs.on.has(Actuator::C1) { 3.0 } else { 0.0 });
        let pressure = |p: f64| loop_counts(p, 0.0, 35e5);
        let warm = |t: f64| loop_counts(t, -40.0, 160.0);
        let mut analog: [u16; ANALOG_COUNT] = [
            pressure(self.vessel),
            pressure(w.p_low),
            pressure(w.p_high),
            loop_counts(w.p_vacuum.min(10_200.0), 0.0, 1e4),
            pressure(w.p_separator.unwrap_or(self.separator)),
            w.wall.map_or(0, warm),
            warm(w.discharge + self.warmed),
            if w.heater.is_nan() { 0 } else { warm(w.heater) },
            warm(w.ambient),
            loop_counts(w.lfl, 0.0, 100.0),
            loop_counts(amps, 0.0, 20.0),
            loop_counts(
                w.fan_rpm.unwrap_or(if self.outputs.on.has(Actuator::K1) { 2_800.0 } else { 0.0 }),
                0.0,
                6_000.0,
            ),
            loop_counts(w.supply, 0.0, 40.0),
            loop_counts(
                w.rail.unwrap_or(if self.outputs.dropped.has(Feed::Valves) { 0.0 } else { w.supply }),
                0.0,
                40.0,
            ),
        ];
        // A live loop rustles: one count, once a second, which no median of three lets through.
        if self.scans.is_multiple_of(20) {
            analog.iter_mut().filter(|c| (10_000..57_000).contains(*c)).for_each(|c| *c += 1);
        }
        self.sequence = self.sequence.wrapping_add(1);
        let sequence = self.sequence;
        // 5 mg a code for the vessel, 0.5 mg for the bottles, zero at code 100 000: the reference calibration.
        let [vessel, used, fresh] = w.grams;
        let scales = [(vessel, 200.0), (vessel + w.apart, 200.0), (used, 2_000.0), (fresh, 2_000.0)]
            .map(|(g, per_gram)| ScaleSample { code: 100_000 + (g * per_gram).round() as i32, sequence });
        self.fan_for = if self.outputs.on.has(Actuator::K1) {
            (self.fan_for + ms).min(6_000)
        } else {
            self.fan_for.saturating_sub(ms)
        };
        let flows = match w.flow {
            FlowSwitch::Follows => self.fan_for > 3_000,
            FlowSwitch::StuckClosed => true,
            FlowSwitch::StuckOpen => false,
        };
        let still = if flows { 0 } else { Switches::FSL1_FLOW };
        let port = if w.flush_port { Switches::FLUSH_PORT } else { 0 };
        let switches = Switches((Switches::ALL | port) & !still & !w.open);
        let slow = self.slow;
        let identifier =
            self.answer.take_if(|_| !slow).map(|r| encode_report(&r, Flags::default())).unwrap_or_default();
        let machine = Machine {
            sequence,
            beat: self.now as u16,
            clock: CLOCK.wrapping_add(self.now / 1_000),
            coils: self.outputs.dropped.leave(self.outputs.on),
            failed: self.failed,
            stored: if self.store_stands { 0 } else { self.outputs.keep },
        };
        RawFrame { analog, scales, switches, identifier, machine, command }
    }
}

impl Default for Bench {
    fn default() -> Self {
        Self::new()
    }
}

/// Counts of a perfect 4-20 mA loop, 65 535 at 24 mA.
fn loop_counts(value: f64, low: f64, high: f64) -> u16 {
    let milliampere = 4.0 + 16.0 * (value - low) / (high - low);
    (milliampere / 24.0 * 65_535.0).round().clamp(0.0, 65_535.0) as u16
}
