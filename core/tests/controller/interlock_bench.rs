//! A calm station for the interlock tests, and how to upset each of its watches.

use valvewright_core::frame::{Actuator, Actuators, Switches};
use valvewright_core::interlock::{Facts, Inhibits, Interlocks, RowId, RowSet, Watch};
use valvewright_core::row::WatchSet;
use valvewright_core::sense::{Broken, Doubt, Quality, Reading, Readings, Weight};
use valvewright_core::units::*;

pub const SCAN: u32 = 50;
pub const RESET: bool = true;
pub const HANDS_OFF: bool = false;

pub fn good<T>(value: T) -> Reading<T> {
    Reading { value, quality: Quality::Good }
}

/// A healthy station in a workshop at 25 degC, vehicle connected and evacuated, every permission given.
pub fn calm() -> (Readings, Facts) {
    let t = CentiKelvin::from_centi_celsius(2_500);
    let weight = Weight { mass: good(Milligram::from_grams(5_000)), rate: MilligramPerS(0), still: true, repeats: 0 };
    let readings = Readings {
        pt1: good(AbsPa(680_000)),
        pt2: good(AbsPa(60_000)),
        pt3: good(AbsPa(62_000)),
        pt4: good(AbsPa(10_000)),
        pt5: good(AbsPa(60_000)),
        tt1: good(t),
        tt2: good(t),
        tt3: good(t),
        tt4: good(t),
        at2: good(PermilleLfl(5)),
        it1: good(Milliamp(0)),
        st1: good(Rpm(3_000)),
        et1: good(Millivolt(24_000)),
        et2: good(Millivolt(24_000)),
        wt1: weight,
        wt1a: weight,
        wt1b: weight,
        wt2: weight,
        wt3: weight,
        switches: Switches(Switches::ALL),
        gas: None,
    };
    let facts = Facts {
        identity_pass: true,
        leak_pass: true,
        circuit_empty: true,
        hoses_stand: true,
        barometer: AbsPa(101_325),
        purge_permitted: true,
        air_proven: true,
        well: WatchSet::FOUND,
        fill_limit: Milligram::from_grams(10_000),
        applied: Actuators::SAFE,
        wanted: Actuators::SAFE,
        ..Facts::default()
    };
    (readings, facts)
}

pub struct Rig {
    pub locks: Interlocks,
    pub now: Instant,
    pub r: Readings,
    pub f: Facts,
}

impl Rig {
    /// Calm for a minute and a half, so that every permission is given. Starts short before the wrap of the tick.
    pub fn new() -> Self {
        let (r, f) = calm();
        let mut rig = Self { locks: Interlocks::new(), now: Instant(u32::MAX - 91_000), r, f };
        rig.run(90_000);
        assert_eq!((rig.locks.tripped(), rig.locks.withheld()), (RowSet::NONE, RowSet::NONE), "calm is calm");
        rig
    }
    pub fn step(&mut self, reset: bool) -> Inhibits {
        self.now = self.now.after(Millis(SCAN));
        self.locks.evaluate(self.now, &self.r, &self.f, reset)
    }
    pub fn run(&mut self, ms: u32) -> Inhibits {
        (0..ms.div_ceil(SCAN)).map(|_| self.step(HANDS_OFF)).last().unwrap_or_default()
    }
    pub fn tripped(&self, id: RowId) -> bool {
        self.locks.tripped().has(id)
    }
    /// Milliseconds of stepping until the row is tripped, or `None` after `limit`.
    pub fn time_to_trip(&mut self, id: RowId, limit: u32) -> Option<u32> {
        (1..=limit / SCAN)
            .find(|_| {
                self.step(HANDS_OFF);
                self.tripped(id)
            })
            .map(|scans| (scans - 1) * SCAN)
    }
    pub fn press(&mut self) -> Inhibits {
        self.step(HANDS_OFF);
        self.step(RESET)
    }
    /// Calm again for long enough for every clear hold.
    pub fn mend(&mut self) {
        (self.r, self.f) = calm();
        self.run(61_000);
    }
}

/// The vessel scale shows this on both its bridges.
pub fn load(r: &mut Readings, mass: Milligram) {
    for weight in [&mut r.wt1, &mut r.wt1a, &mut r.wt1b] {
        weight.mass.value = mass;
    }
}

/// Puts the calm station into the state that trips one watch.
pub fn provoke(watch: Watch, r: &mut Readings, f: &mut Facts) {
    let on = |list: &[Actuator]| Actuators::of(list).or(Actuators::SAFE);
    match watch {
        Watch::CabinetGas => r.at2.value = PermilleLfl(150),
        Watch::VesselFill => load(r, f.fill_limit),
        Watch::VesselPressure => r.pt1.value = AbsPa(1_701_000),
        Watch::DischargeSwitch => r.switches.0 &= !Switches::PSH1_HEALTHY,
        Watch::Identity => f.identity_pass = false,
        Watch::PurgeLeave => f.purge_permitted = false,
        Watch::ChargeFlow => f.charge_flow_wrong = true,
        Watch::ChargeScale => r.wt1.mass.quality = Quality::Uncertain(Doubt::Unsteady),
        Watch::LateScan => f.scan_late = true,
        Watch::SeparatorLevel => r.switches.0 &= !Switches::LS2_NOT_HIGH,
        Watch::PumpAdmission => r.pt3.value = f.barometer.plus(AbsPa(8_000)),
        Watch::PumpInlet => {
            r.pt2.value = f.barometer.plus(AbsPa(8_000));
            f.applied = on(&[Actuator::Xv6, Actuator::P1]);
        }
        Watch::HeaterCover => {
            load(r, Milligram::from_grams(999));
            f.wanted = on(&[Actuator::H1, Actuator::H2]);
        }
        Watch::HeaterSkin => r.tt3.value = CentiKelvin::from_centi_celsius(8_000),
        Watch::HeaterEffect => f.heats_nothing = true,
        Watch::MotorCurrent => r.it1.value = Milliamp(9_000),
        Watch::SeparatorPressure => r.pt5.value = AbsPa(130_000),
        Watch::OilBottle => r.switches.0 &= !Switches::LS1_NOT_FULL,
        Watch::BridgesApart => r.wt1b.mass.value = r.wt1a.mass.value.plus(Milligram::from_grams(12)),
        Watch::FanSpeed => {
            r.st1.value = Rpm(1_679);
            f.wanted = on(&[Actuator::Xv1]);
        }
        Watch::HeaterWelded => f.heater_welded = true,
        Watch::DischargeTemperature => r.tt2.value = CentiKelvin::from_centi_celsius(12_000),
        Watch::Suction => {
            r.pt2.value = AbsPa(29_999);
            f.applied = on(&[Actuator::C1, Actuator::Xv3, Actuator::Xv4]);
        }
        Watch::LeakVerdict => f.leak_pass = false,
        Watch::Effect => f.effect_mismatch = true,
        Watch::ScaleCreep => f.scale_creep = true,
        Watch::ScaleLost => r.wt1.mass.quality = Quality::Bad(Broken::Frozen),
        Watch::AirFlow => {
            r.switches.0 &= !Switches::FSL1_FLOW;
            f.wanted = on(&[Actuator::Xv1]);
        }
        Watch::Door => r.switches.0 &= !Switches::ZS1_DOOR_SHUT,
        Watch::AirProof => f.air_proven = false,
        Watch::StopPressed => r.switches.0 &= !(Switches::HS1_A_RELEASED | Switches::HS1_B_RELEASED),
        Watch::Unrecovered => f.circuit_empty = false,
        Watch::HosesRise => f.hoses_stand = false,
        Watch::PumpInletSwitch => {
            r.switches.0 &= !Switches::PSH2_HEALTHY;
            f.applied = on(&[Actuator::Xv6, Actuator::P1]);
        }
        Watch::PumpValveStuck => r.switches.0 &= !Switches::PSH2_HEALTHY,
        Watch::ReliefNear => r.pt1.value = AbsPa(1_800_000),
        Watch::LineLocked
        | Watch::DrawsAir
        | Watch::ChargeUnconfirmed
        | Watch::ChargeBeyond
        | Watch::OilVoltage
        | Watch::IdentifierUnsound
        | Watch::PurgeSpent
        | Watch::PurgeLoss
        | Watch::VesselLoses
        | Watch::HoseFalls
        | Watch::CouplersOff => f.well = f.well.without(WatchSet::NONE.with(watch)),
        Watch::StopDisagrees => r.switches.0 &= !Switches::HS1_B_RELEASED,
        Watch::Coils => f.machine.coils_wrong = true,
        Watch::SpanMoved => f.kept.span_moved = true,
        Watch::Upkeep => f.kept.upkeep_expired = true,
        Watch::Unlocking => f.kept.unlocking = true,
        Watch::StoreLost => f.kept.store_lost = true,
        Watch::WallClock => f.machine.clock_doubtful = true,
        Watch::Restarted => f.kept.restarted = true,
        Watch::TickRate => f.machine.tick_wrong = true,
        Watch::SelfCheck => f.machine.check_failed = true,
        Watch::StaleImage => f.machine.stale_image = true,
        Watch::ProofDue => f.kept.proof_overdue = true,
        Watch::SupplyLow => r.et1.value = Millivolt(20_399),
        Watch::RailLow => r.et2.value = Millivolt(20_399),
        Watch::StartsAgain => f.kept.starts_again = true,
    }
}
