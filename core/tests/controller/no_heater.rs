//! A station without heater: nothing asks for one, nothing waits for warming, and TT-3, which is not there, says nothing.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuators, Lamp};
use valvewright_core::job::{GiveUp, Outcome, PhaseKind};
use valvewright_core::sense::Quality;
use valvewright_core::talk::{Notice, Question};

use crate::bench::{Bench, order};
use crate::charging::{Charging, alone, honest};

fn config() -> StationConfig {
    let reference = StationConfig::reference(Refrigerant::R1234yf);
    StationConfig { fitted: Actuators::ALL.without(Actuators::HEATER), ..reference }
}

/// A tight vehicle on a station whose TT-3 has no wire.
fn tight() -> Charging {
    let mut bench = Bench::running_as(config(), order(&[PhaseKind::Identify]));
    bench.world.heater = f64::NAN;
    Charging::tight_on(bench)
}

#[test]
fn half_a_heater_is_none() {
    use valvewright_core::frame::Actuator::{H1, H2};
    for missing in [H1, H2] {
        let fitted = Actuators::ALL.without(Actuators::of(&[missing]));
        assert!(!StationConfig { fitted, ..config() }.heats(), "{missing:?}");
    }
    assert!(StationConfig::reference(Refrigerant::R134a).heats());
}

/// With a heater the same wire trips I12 and the lamp is red.
#[test]
fn an_input_that_is_not_wired_trips_nothing_and_reads_nothing() {
    let mut bench = Bench::with(config());
    bench.world.heater = f64::NAN;
    bench.seconds(20);
    assert_eq!(bench.notices, []);
    assert_eq!((bench.outputs.lamp, bench.outputs.buzzer), (Lamp::White, false));
    assert_eq!(bench.station.readings().tt3.quality, Quality::None);
    assert_eq!(bench.station.readings().tt2.quality, Quality::Good);
    for skin in [300.0, -60.0, 85.0, f64::NAN] {
        bench.world.heater = skin;
        bench.seconds(5);
        assert_eq!(bench.notices, [], "TT-3 at {skin}");
    }

    let mut heated = Bench::new();
    heated.world.heater = f64::NAN;
    heated.seconds(20);
    assert!(heated.notices.iter().any(|n| matches!(n, Notice::Tripped(..))), "{:?}", heated.notices);
}

/// A vessel no warmer than the air has no head to begin with: it is charged from all the same, as far as it flows.
#[test]
fn a_cold_vessel_is_not_waited_for() {
    let mut charging = tight();
    charging.bench.world.p_vessel = 560_000.0;
    charging.bench.start(3, alone(500));
    assert!(charging.play(120, honest, |c| c.gone > 10.0), "{:?}", charging.bench.notices);
    assert!(!charging.bench.notices.contains(&Notice::WarmingVessel));
    assert!(charging.play(1_200, honest, |_| false));
    assert_eq!(charging.charge_outcome(), Some(Outcome::Done), "{:?}", charging.bench.notices);
}

/// The first stall leads to the vehicle's own compressor; declined, the charge ends for its ordinary reason.
#[test]
fn a_stall_is_not_warmed_away() {
    for accepted in [false, true] {
        let mut charging = tight();
        charging.bench.start(3, alone(500));
        assert!(charging.play(1_200, honest, |c| c.gone > 250.0));
        (charging.bench.world.p_low, charging.bench.world.p_high, charging.flow) = (750_000.0, 750_000.0, 0.0);
        let asked = |c: &Charging| c.bench.station.job().question() == Some(Question::RunVehicleCompressor);
        assert!(charging.play(30, honest, asked), "{:?}", charging.bench.notices);
        charging.bench.answer(accepted);
        let heated = |c: &Charging| !c.bench.on().and(Actuators::HEATER).is_empty();
        assert!(!charging.play(120, honest, heated) || !heated(&charging));
        assert_eq!(charging.charge_outcome(), Some(Outcome::Failed(GiveUp::ChargeStalled)), "accepted {accepted}");
        assert!(!charging.bench.notices.contains(&Notice::WarmingVessel));
        assert!(
            !charging.bench.notices.iter().any(|n| matches!(n, Notice::Tripped(..))),
            "{:?}",
            charging.bench.notices
        );
    }
}
