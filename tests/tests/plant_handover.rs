//! A vehicle goes and another comes at a running station: what stays goes on as it stands, and the accounts close over the change.

use valvewright_sim::plant::{Balance, NetworkSpec, Plant, Tolerance};
use valvewright_sim::run::network_of;
use valvewright_tests::job_runs::{Edit, scenario};

const DEMO: &str = "mild_hatchback";
/// What comes with the vehicle: its volumes and what joins them to each other and to the air, and the bottle of the pressure test.
const THEIRS: [&str; 10] = [
    "vehicle_high",
    "vehicle_low",
    "accumulator",
    "expansion",
    "suction",
    "vehicle_compressor",
    "leak",
    "release",
    "nitrogen_bottle",
    "nitrogen",
];

fn theirs(name: &str) -> bool {
    THEIRS.contains(&name)
}

fn network(edits: &[Edit<'_>], extra: &str) -> NetworkSpec {
    network_of(&scenario(DEMO, edits, extra)).unwrap_or_else(|fault| panic!("{fault}"))
}

fn plain() -> NetworkSpec {
    network(&[], "")
}

/// A tenth of its gas is R-134a.
fn mixed() -> NetworkSpec {
    network(&[], "\n[vehicle.gas]\nR-1234yf = \"90 %\"\nR-134a = \"10 %\"\n")
}

fn wet() -> NetworkSpec {
    network(&[("oil_amount = \"120 mL\"", "oil_amount = \"90 mL\"\nwater = \"20 g\"\nair = \"5 g\"")], "")
}

fn leaking() -> NetworkSpec {
    network(&[("content = \"445 g\" ", "content = \"120 g\"\nleak = \"0.4 mm\" ")], "")
}

fn under_nitrogen() -> NetworkSpec {
    let phases = "phases = [\"identify\", \"recover\", \"pressure_test\", \"evacuate\", \"leak_check\", \"inject_oil\", \"charge\"]";
    network(&[("phases = \"whole\"", phases)], "")
}

fn plant(spec: &NetworkSpec) -> Plant {
    Plant::new(spec, Tolerance::STATION).unwrap_or_else(|fault| panic!("{fault}"))
}

fn read(plant: &Plant, name: &str) -> f64 {
    plant.read(plant.signal(name).unwrap_or_else(|| panic!("no signal {name}")))
}

fn set(plant: &mut Plant, names: &[&str], on: f64) {
    for name in names {
        let element = plant.element(name).unwrap_or_else(|| panic!("no element {name}"));
        plant.set(element, on);
    }
}

const COUPLERS: [&str; 2] = ["coupler_low", "coupler_high"];
const RECOVERY: [&str; 5] = ["XV-1", "XV-2", "XV-3", "XV-4", "C-1"];
const EVACUATION: [&str; 4] = ["XV-1", "XV-2", "XV-6", "P-1"];

/// Makes the present moment the end of a step, so that nothing is interpolated.
fn land(plant: &mut Plant) {
    plant.set_param("XV-7.stroke", 0.0).expect("a stroke");
}

/// Takes back for so long, then draws a vacuum for as long; leaves the couplers off.
fn serve(plant: &mut Plant, seconds: f64) {
    set(plant, &COUPLERS, 1.0);
    for way in [&RECOVERY[..], &EVACUATION] {
        set(plant, way, 1.0);
        plant.advance(plant.time() + seconds);
        set(plant, way, 0.0);
    }
    set(plant, &COUPLERS, 0.0);
    plant.advance(plant.time() + 30.0);
}

fn change(plant: &mut Plant, next: &NetworkSpec) {
    plant.exchange(next, &theirs).unwrap_or_else(|fault| panic!("{fault}"));
}

fn owner(name: &str) -> &str {
    name.rsplit_once('.').map_or(name, |(owner, _)| owner)
}

/// What is read of the station: name and value.
fn station(plant: &Plant) -> Vec<(String, f64)> {
    let all = plant.signal_names().into_iter().filter(|(name, _)| !theirs(owner(name)));
    all.map(|(name, _)| (name.clone(), read(plant, &name))).collect()
}

/// Nothing is missing beyond what rounding takes.
fn closed(balance: &Balance, what: &str) {
    for account in balance.accounts(true) {
        let limit = if account.unit == "J" { 1e-9 } else { 1e-12 };
        let error = account.error.abs() / account.scale.max(1e-6);
        assert!(error < limit, "{what}: {} is off by {error:e}, {account:?}", account.what);
    }
}

#[test]
fn the_same_vehicle_again_changes_nothing_of_the_station() {
    let mut one = plant(&plain());
    serve(&mut one, 300.0);
    one.advance(one.time() + 1.0);
    land(&mut one);
    let mut other = one.clone();
    let before = station(&one);
    change(&mut one, &plain());
    assert_eq!(one.time(), other.time());
    for ((name, was), (again, is)) in before.into_iter().zip(station(&one)) {
        assert_eq!(name, again);
        let field = name.rsplit_once('.').map_or("", |(_, field)| field);
        if field.starts_with('m') && field != "m_liq" {
            assert_eq!(was.to_bits(), is.to_bits(), "{name} was {was} and is {is}");
        } else if !name.starts_with("coupler") {
            // Where a temperature is sought, it may be found another way round.
            assert!((was - is).abs() <= 1e-6 * was.abs().max(1e-6), "{name} was {was} and is {is}");
        }
    }
    for plant in [&mut one, &mut other] {
        plant.advance(plant.time() + 3600.0);
    }
    for ((name, with), (_, without)) in station(&one).into_iter().zip(station(&other)) {
        if [".m", ".p", ".t", ".t_wall", ".m_oil", ".m_air"].iter().any(|field| name.ends_with(field)) {
            let off = (with - without).abs() / without.abs().max(1e-3);
            assert!(off < 2e-3, "an hour on, {name} is {with} with the change and {without} without");
        }
    }
}

#[test]
fn what_comes_is_as_freshly_started() {
    for next in [plain(), mixed(), wet(), leaking(), under_nitrogen()] {
        let mut one = plant(&plain());
        serve(&mut one, 120.0);
        change(&mut one, &next);
        let fresh = plant(&next);
        let names = fresh.signal_names().into_iter().map(|(name, _)| name);
        for name in names.filter(|name| theirs(owner(name)) && !name.contains("flow") && !name.ends_with(".t_out")) {
            let (is, new) = (read(&one, &name), read(&fresh, &name));
            assert!((is - new).abs() <= 1e-6 * new.abs().max(1e-9), "{name} is {is}, freshly started {new}");
        }
    }
}

/// Second refrigerant, water, leak and nitrogen in one network and not in the other, in every order; at rest, in mid-step and in full flow.
#[test]
fn the_accounts_close_over_every_change() {
    let makes = [
        ("plain", plain()),
        ("mixed", mixed()),
        ("wet", wet()),
        ("leaking", leaking()),
        ("nitrogen", under_nitrogen()),
    ];
    for (first, from) in &makes {
        for (second, next) in &makes {
            let mut one = plant(from);
            set(&mut one, &RECOVERY, 1.0);
            one.advance(41.7);
            assert!(one.horizon() > one.time(), "the plant looks ahead");
            let before = one.balance();
            change(&mut one, next);
            let what = format!("{first}, then {second}");
            let after = one.balance();
            closed(&after, &what);
            let gone = after.exchanged;
            let moved = gone.arrived.refrigerant_kg - gone.left.refrigerant_kg;
            assert!((after.inventory_kg + after.out_kg - before.inventory_kg - before.out_kg - moved).abs() < 1e-6);
            one.advance(200.0);
            closed(&one.balance(), &format!("{what}, later"));
            assert_eq!(one.fault(), None, "{what}");
        }
    }
}

#[test]
fn what_an_earlier_vehicle_left_stays_in_the_station() {
    let mut one = plant(&plain());
    assert!(!one.mixed());
    serve(&mut one, 100.0);
    change(&mut one, &mixed());
    assert!(one.mixed());
    assert_eq!(read(&one, "vessel.m_second"), 0.0);
    serve(&mut one, 600.0);
    let kept = read(&one, "vessel.m_second");
    assert!(kept > 0.02, "{kept} kg of the second refrigerant were taken back");
    change(&mut one, &plain());
    assert_eq!(read(&one, "vessel.m_second"), kept);
    assert_eq!(read(&one, "vehicle_low.m_second"), 0.0);
    let gone = one.exchanged();
    assert_eq!(gone.times, 2);
    let brought: f64 = THEIRS[..3].iter().map(|part| read(&plant(&mixed()), &format!("{part}.m_second"))).sum();
    assert!((gone.arrived.second_kg - brought).abs() < 1e-12, "{} kg came of {brought}", gone.arrived.second_kg);
    let balance = one.balance();
    let found = balance.second_kg + balance.second_out_kg + gone.left.second_kg;
    assert!((found - gone.arrived.second_kg).abs() < 1e-12, "{found} kg of {}", gone.arrived.second_kg);
    closed(&balance, "third vehicle");
}

/// Parameters that were set, a stroke under way, a ramp, the heater's skin, the water in the pump's oil.
#[test]
fn what_was_set_and_what_moves_goes_on() {
    let mut one = plant(&wet());
    serve(&mut one, 600.0);
    one.set_param("XV-1.stroke", 10.0).expect("a stroke");
    one.set_param("XV-7.leak_by", 1e-4).expect("a leaking valve");
    one.set_param("ambient.temperature", 300.0).expect("warmer air");
    one.ramp("vessel.surroundings", 310.0, 100.0).expect("a ramp");
    set(&mut one, &["H-1+H-2", "XV-1"], 1.0);
    one.advance(one.time() + 4.0);
    land(&mut one);
    let names = ["XV-1.opening", "XV-7.opening", "H-1+H-2.t_out", "P-1.m_kept", "cabinet.m", "used_oil.m_oil"];
    let (was, water) = (names.map(|name| read(&one, name)), read(&one, "P-1.m_kept"));
    assert!(water > 1e-5 && (was[0] - 0.4).abs() < 1e-9, "{was:?}");
    let mut other = one.clone();
    change(&mut one, &plain());
    for (name, was) in names.into_iter().zip(was) {
        let is = read(&one, name);
        assert!((is - was).abs() <= 1e-9 * was.abs(), "{name} was {was} and is {is}");
    }
    for plant in [&mut one, &mut other] {
        plant.advance(plant.time() + 60.0);
    }
    for name in ["XV-1.opening", "XV-7.opening", "H-1+H-2.t_out", "vessel.t_wall"] {
        let (with, without) = (read(&one, name), read(&other, name));
        assert!((with - without).abs() < 2e-3 * without, "{name} is {with} with the change and {without} without");
    }
    assert_eq!(one.command(one.element("XV-1").expect("XV-1")), 1.0);
}

#[test]
fn a_relief_that_stands_open_stays_open() {
    let mut one = plant(&plain());
    one.set_param("PSV-1.set", 3e5).expect("a set pressure");
    one.set_param("PSV-1.reseat", 1e5).expect("a reseat pressure");
    one.advance(2.0);
    // Above the new set pressure by now: shut again only below the other.
    one.set_param("PSV-1.set", 2e6).expect("a set pressure");
    one.advance(3.0);
    assert!(read(&one, "PSV-1.flow") > 0.0, "it blows");
    change(&mut one, &plain());
    assert!(read(&one, "PSV-1.flow") > 0.0, "it still blows");
    one.advance(10.0);
    assert!(read(&one, "PSV-1.flow") > 0.0, "and goes on");
}

#[test]
fn fifty_vehicles_in_a_row() {
    let specs = [plain(), mixed(), wet(), leaking(), under_nitrogen()];
    let mut one = plant(&specs[0]);
    let mut booked = 0.0;
    for turn in 1..=50 {
        set(&mut one, &COUPLERS, 1.0);
        set(&mut one, &EVACUATION, 1.0);
        one.advance(one.time() + 20.0);
        set(&mut one, &EVACUATION, 0.0);
        set(&mut one, &COUPLERS, 0.0);
        one.advance(one.time() + 10.0);
        let made = one.exchange(&specs[turn % specs.len()], &theirs).expect("the next one comes");
        booked += made.arrived.refrigerant_kg;
        closed(&one.balance(), &format!("vehicle {turn}"));
    }
    assert_eq!(one.fault(), None);
    assert_eq!(one.exchanged().times, 50);
    assert!((one.exchanged().arrived.refrigerant_kg - booked).abs() < 1e-9);
}

/// Copies before and after, and the same once more.
#[test]
fn the_same_row_gives_the_same_bits() {
    let row = |copy: bool| {
        let mut one = plant(&plain());
        let mut bits = Vec::new();
        for next in [mixed(), plain(), wet()] {
            serve(&mut one, 90.0);
            if copy {
                let mut aside = one.clone();
                change(&mut aside, &leaking());
                aside.advance(aside.time() + 50.0);
                one = one.clone();
            }
            change(&mut one, &next);
            if copy {
                one = one.clone();
            }
            one.advance(one.time() + 17.3);
            bits.extend(one.signal_names().iter().map(|(name, _)| read(&one, name).to_bits()));
        }
        (bits, one.steps())
    };
    let first = row(false);
    assert_eq!(first, row(false));
    assert_eq!(first, row(true));
}

#[test]
fn what_does_not_fit_is_refused_and_leaves_the_plant_as_it_was() {
    let mut one = plant(&mixed());
    one.advance(33.3);
    let mut untouched = one.clone();
    let mut refused = |next: &NetworkSpec, words: &[&str]| {
        let why = one.exchange(next, &theirs).expect_err("it is refused").to_string();
        assert!(words.iter().all(|word| why.contains(word)), "{why}");
    };
    let mut other = plain();
    other.fluid = valvewright_sim::fluid::FluidKind::R134a;
    refused(&other, &["R-1234yf", "R-134a"]);
    let mut other = plain();
    other.volumes.retain(|volume| volume.name != "cabinet");
    other.elements.retain(|element| element.from != "cabinet" && element.to != "cabinet");
    refused(&other, &["`cabinet` stays", "add it"]);
    let mut other = plain();
    other.elements.retain(|element| element.name != "XV-7");
    refused(&other, &["`XV-7` stays"]);
    let mut other = plain();
    other.element_mut("XV-7").expect("XV-7").to = "cabinet".to_owned();
    refused(&other, &["`XV-7` stays", "`cabinet`", "`ambient`"]);
    let mut other = plain();
    other.element_mut("XV-7").expect("XV-7").name = "XV-11".to_owned();
    refused(&other, &["`XV-11`", "theirs"]);
    let mut other = plain();
    other.volume_mut("vehicle_low").expect("a vehicle").volume = 1e-5;
    refused(&other, &["vehicle_low", "of"]);
    let mut other = mixed();
    other.second = Some(other.fluid);
    refused(&other, &["third refrigerant"]);
    for plant in [&mut one, &mut untouched] {
        plant.advance(200.0);
    }
    assert_eq!(one.steps(), untouched.steps());
    assert_eq!(read(&one, "hose_low.p").to_bits(), read(&untouched, "hose_low.p").to_bits());
}
