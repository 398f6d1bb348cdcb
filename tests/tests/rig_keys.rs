//! Every key of a network file ends in the data it stands for, has the usual value where it is left out, and is refused where it means nothing.

use valvewright_sim::fluid::FluidKind;
use valvewright_sim::plant::spec::{Draw, LawSpec, Mixing, OilLaw, OilSpec};
use valvewright_sim::plant::{NetworkSpec, parse};
use valvewright_sim::scenario::diagnostic::Source;

fn read(text: &str) -> Result<NetworkSpec, Vec<String>> {
    parse::network(&Source::new("net.toml", text)).map_err(|all| all.iter().map(ToString::to_string).collect())
}

fn good(text: &str) -> NetworkSpec {
    read(text).unwrap_or_else(|all| panic!("{}\n{text}", all.join("\n")))
}

/// The one message that a text gets.
fn told(text: &str) -> String {
    let mut all = read(text).expect_err(text);
    assert_eq!(all.len(), 1, "one mistake, one message:\n{}\n{text}", all.join("\n"));
    all.remove(0)
}

fn near(is: f64, wanted: f64) {
    assert!((is - wanted).abs() <= 1e-12 * wanted.abs(), "{is} is not {wanted}");
}

const HEAD: &str = "refrigerant = \"R1234yf\"\n";
const LOOP: &str = "[volume.loop]\nvolume = \"2 L\"\nrefrigerant = \"300 g\"\n";
const TANK: &str = "[volume.tank]\nvolume = \"5 L\"\n";

fn oil(keys: &str) -> OilSpec {
    good(&format!("{HEAD}{LOOP}[volume.loop.oil]\nmass = \"300 g\"\n{keys}")).volumes[0].oil.expect("there is oil")
}

fn told_of_oil(keys: &str) -> String {
    told(&format!("{HEAD}{LOOP}[volume.loop.oil]\nmass = \"300 g\"\n{keys}"))
}

#[test]
fn a_second_refrigerant_is_named_once_and_held_where_given() {
    let text = format!(
        "{HEAD}second_refrigerant = \"R134a\"\nmixing = \"ideal\"\n{LOOP}second_refrigerant = \"20 g\"\n{TANK}"
    );
    let spec = good(&text);
    assert_eq!((spec.fluid, spec.second, spec.mixing), (FluidKind::R1234yf, Some(FluidKind::R134a), Mixing::Ideal));
    near(spec.volumes[0].fill.second, 0.02);
    assert_eq!(spec.volumes[1].fill.second, 0.0);
    assert_eq!(good(&text.replace("mixing = \"ideal\"\n", "")).mixing, Mixing::Real);

    let lone = told(&format!("{HEAD}{LOOP}second_refrigerant = \"20 g\"\n"));
    assert!(lone.contains("net.toml:5:") && lone.contains("names no `second_refrigerant` at its top"), "{lone}");
    let same = told(&format!("{HEAD}second_refrigerant = \"R-1234yf\"\n{LOOP}second_refrigerant = \"20 g\"\n"));
    assert!(same.contains("main refrigerant already"), "{same}");
    let wrong = told(&format!("{HEAD}second_refrigerant = \"R12\"\n{LOOP}second_refrigerant = \"20 g\"\n"));
    assert!(wrong.contains("`R12` is not known"), "{wrong}");
    let alone = told(&format!("{HEAD}mixing = \"real\"\n{LOOP}"));
    assert!(alone.contains("`mixing` is out of place"), "{alone}");
}

#[test]
fn both_walls_take_water() {
    let keys = "heat_capacity = \"1 kJ/K\"\nwet = \"10 W/K\"\n";
    let more =
        "condensation = \"3e-8 kg/s/Pa\"\nhalf_water = \"8 mg\"\nwater = \"0.2 g\"\nsurroundings = \"-10 degC\"\n";
    let spec = good(&format!("{HEAD}{LOOP}[volume.loop.wall]\n{keys}[volume.loop.cold_wall]\n{keys}{more}"));
    let (wall, cold) = (spec.volumes[0].wall.expect("a wall"), spec.volumes[0].cold_wall.expect("a cold wall"));
    near(wall.condensation, 2e-8);
    near(wall.half_water, 5e-6);
    assert_eq!((wall.water, wall.surroundings), (0.0, None));
    near(cold.condensation, 3e-8);
    near(cold.half_water, 8e-6);
    near(cold.water, 2e-4);
    near(cold.surroundings.expect("given"), 263.15);
    for name in ["wall", "cold_wall"] {
        let held = told(&format!("{HEAD}{LOOP}isothermal = true\n[volume.loop.{name}]\n{keys}"));
        assert!(held.contains(&format!("`{name}` is out of place")) && held.contains("isothermal"), "{held}");
    }
}

#[test]
fn oil_is_flory_unless_its_keys_say_otherwise() {
    let plain = oil("");
    assert!(!plain.weightless);
    let OilLaw::Flory { molar_mass, interaction, rate } = plain.law else { panic!("{plain:?}") };
    near(molar_mass, 2.0);
    near(interaction, 0.64);
    near(rate, 4e-9); // 2e-9 kg/(s Pa) for 150 g, and here are 300 g.
    near(plain.density, 980.0);
    near(plain.heat_capacity, 1900.0);
    near(plain.to_content, 8.0);
    assert_eq!((plain.heat_of_mixing, plain.dissolved), (0.0, None));

    let raoult =
        oil("law = \"raoult\"\nmolar_mass = \"450 g/mol\"\ntime_constant = \"20 s\"\nheat_of_mixing = \"-12 kJ/kg\"\n");
    assert_eq!(raoult.law, OilLaw::Raoult { molar_mass: 450.0 * 1e-3, time_constant: 20.0 });
    near(raoult.heat_of_mixing, -12e3);
    assert_eq!(oil("law = \"raoult\"").law, OilLaw::Raoult { molar_mass: 0.52, time_constant: 150.0 });
}

#[test]
fn oil_of_older_files_stays_linear_and_weightless() {
    for keys in ["solubility = 0.3\n", "time_constant = \"150 s\"\n", "law = \"linear\"\n"] {
        let made = oil(keys);
        assert_eq!(made.law, OilLaw::Linear { solubility: 0.3, time_constant: 150.0 }, "{keys}");
        assert!(made.weightless, "{keys}");
    }
    for keys in [
        "density = \"950 kg/m3\"",
        "heat_capacity = \"2 kJ/kg/K\"",
        "to_content = \"5 W/K\"",
        "heat_of_mixing = \"0 J/kg\"",
    ] {
        assert!(!oil(&format!("solubility = 0.3\n{keys}")).weightless, "{keys} makes it a phase");
    }
    assert!(!oil("law = \"linear\"\nweightless = false").weightless);
}

#[test]
fn keys_of_another_oil_law_are_refused() {
    for (keys, wanted) in [
        ("law = \"flory\"\nsolubility = 0.3", "belongs to `law = \"linear\"`"),
        ("law = \"flory\"\ntime_constant = \"9 s\"", "goes by pressure"),
        ("law = \"raoult\"\ninteraction = 0.5", "belongs to `law = \"flory\"`"),
        ("law = \"linear\"\nmolar_mass = \"500 g/mol\"", "has no molar mass"),
        ("law = \"linear\"\nrate = \"1e-9 kg/s/Pa\"", "belongs to `law = \"flory\"`"),
        ("law = \"raoult\"\nweightless = true", "only the linear law"),
        ("law = \"linear\"\nweightless = true\ndensity = \"900 kg/m3\"", "neither volume nor heat"),
        ("law = \"henry\"", "accepted: flory, raoult, linear"),
        ("heat_of_mixing = \"30 kJ/kg\"", "accepted range: -50 kJ/kg to 20 kJ/kg"),
        ("dissolved = \"15 kg\"", "at most 49 parts to one of oil"),
    ] {
        let message = told_of_oil(keys);
        assert!(message.contains(wanted), "{keys}: {message}");
    }
    assert!(oil("dissolved = \"14.7 kg\"").dissolved.is_some());
}

#[test]
fn air_dissolves_only_where_asked_for() {
    assert!(good(&format!("{HEAD}{LOOP}")).volumes[0].air_uptake.is_none());
    let usual = good(&format!("{HEAD}{LOOP}[volume.loop.air_uptake]\n")).volumes[0].air_uptake.expect("asked for");
    near(usual.henry, 30e6);
    near(usual.time_constant, 600.0);
    let own = "[volume.loop.air_uptake]\nhenry = \"12 MPa\"\ntime_constant = \"5 min\"\n";
    let own = good(&format!("{HEAD}{LOOP}{own}")).volumes[0].air_uptake.expect("asked for");
    near(own.henry, 12e6);
    near(own.time_constant, 300.0);
}

fn element(kind: &str, keys: &str) -> LawSpec {
    let text = format!("{HEAD}{LOOP}{TANK}[element.x]\nkind = \"{kind}\"\nfrom = \"loop\"\nto = \"tank\"\n{keys}");
    good(&text).elements.remove(0).law
}

fn told_of_element(kind: &str, keys: &str) -> String {
    told(&format!("{HEAD}{LOOP}{TANK}[element.x]\nkind = \"{kind}\"\nfrom = \"loop\"\nto = \"tank\"\n{keys}"))
}

#[test]
fn an_orifice_may_draw_otherwise_on_the_way_back() {
    let made = |keys: &str| match element("orifice", &format!("diameter = \"1 mm\"\n{keys}")) {
        LawSpec::Orifice(made) => made,
        other => panic!("{other:?}"),
    };
    assert_eq!(made("").draw, [Draw::Vapour; 2]);
    assert_eq!(made("draws = \"liquid\"").draw, [Draw::Liquid; 2]);
    assert_eq!(made("draws = \"liquid\"\ndraws_back = \"vapour\"").draw, [Draw::Liquid, Draw::Vapour]);
    assert_eq!(made("draws_back = \"mixed\"").draw, [Draw::Vapour, Draw::Mixed]);
    near(made("").nonequilibrium, 1.0);
    near(made("nonequilibrium = 1.8").nonequilibrium, 1.8);
    let far = told_of_element("orifice", "diameter = \"1 mm\"\nnonequilibrium = 3");
    assert!(far.contains("accepted range: 1 to 2.4"), "{far}");
    let back = told_of_element("check valve", "diameter = \"1 mm\"\ndraws_back = \"liquid\"");
    assert!(back.contains("nothing flows back"), "{back}");
}

#[test]
fn a_hose_has_bore_length_and_losses() {
    let LawSpec::Hose(made) = element("hose", "diameter = \"4.8 mm\"\nlength = \"3 m\"\n") else { panic!("no hose") };
    assert_eq!((made.count, made.roughness, made.fittings, made.one_way), (1.0, 0.0, 0.0, false));
    assert_eq!((made.draw, made.regular), ([Draw::Vapour; 2], 2.0));
    let keys = "diameter = \"4.8 mm\"\nlength = \"3 m\"\ncount = 2\nroughness = \"0.05 mm\"\nfittings = 12\ndraws = \"mixed\"\n\
                draws_back = \"liquid\"\nsmoothing = \"50 Pa\"\n";
    let LawSpec::Hose(made) = element("hose", keys) else { panic!("no hose") };
    near(made.diameter, 4.8e-3);
    near(made.roughness, 5e-5);
    assert_eq!((made.length, made.count, made.fittings, made.regular), (3.0, 2.0, 12.0, 50.0));
    assert_eq!(made.draw, [Draw::Mixed, Draw::Liquid]);
    let rough = told_of_element("hose", "diameter = \"4 mm\"\nlength = \"3 m\"\nroughness = \"1 mm\"");
    assert!(rough.contains("accepted range: 0 mm to 0.2 mm"), "{rough}");
}

#[test]
fn a_relief_valve_goes_by_sound_speed_unless_told() {
    let made = |keys: &str| match element("relief valve", &format!("diameter = \"3 mm\"\nset = \"16 bar\"\n{keys}")) {
        LawSpec::Relief(made) => made.k,
        other => panic!("{other:?}"),
    };
    assert_eq!((made(""), made("exponent = 1.1")), (0.0, 1.1));
}

#[test]
fn a_pump_stalls_and_its_oil_takes_water() {
    let made = |keys: &str| match element("vacuum pump", &format!("speed = \"70 L/min\"\nultimate = \"3 Pa\"\n{keys}"))
    {
        LawSpec::VacuumPump(made) => made,
        other => panic!("{other:?}"),
    };
    let plain = made("");
    near(plain.stall, 2e5);
    assert!(plain.oil.is_none());
    near(made("stall = \"3 bar\"").stall, 3e5);
    let usual = made("[element.x.oil]\n").oil.expect("it has oil");
    for (is, wanted) in
        [(usual.mass, 0.5), (usual.saturation, 0.005), (usual.temperature, 333.15), (usual.wet_ultimate, 300.0)]
    {
        near(is, wanted);
    }
    assert_eq!((usual.water, usual.ballast), (0.0, 0.0));
    let own = "[element.x.oil]\nmass = \"0.3 kg\"\nwater = \"1 g\"\nsaturation = \"1 %\"\ntemperature = \"70 degC\"\n\
               wet_ultimate = \"5 mbar\"\nballast = \"5 L/min\"\n";
    let own = made(own).oil.expect("it has oil");
    for (is, wanted) in [
        (own.mass, 0.3),
        (own.water, 1e-3),
        (own.saturation, 0.01),
        (own.temperature, 343.15),
        (own.wet_ultimate, 500.0),
        (own.ballast, 5e-3 / 60.0),
    ] {
        near(is, wanted);
    }
    let better = told_of_element(
        "vacuum pump",
        "speed = \"70 L/min\"\nultimate = \"3 Pa\"\n[element.x.oil]\nwet_ultimate = \"1 Pa\"",
    );
    assert!(better.contains("3 Pa to 100000 Pa"), "wet oil does not pump deeper: {better}");
}

#[test]
fn places_hold_only_what_they_can() {
    for (text, wanted) in [
        ("[volume.b]\nkind = \"bottle\"\nvolume = \"1 L\"\n", "`b` has no oil table"),
        (
            "[volume.b]\nkind = \"bottle\"\nvolume = \"1 L\"\nair = \"1 g\"\n[volume.b.oil]\nmass = \"1 g\"\n",
            "stands open",
        ),
        (
            "[volume.b]\nkind = \"bottle\"\nvolume = \"1 L\"\noil = { mass = \"1 g\", law = \"raoult\" }\n",
            "it has no law",
        ),
        ("[volume.c]\nkind = \"cabinet\"\nvolume = \"150 L\"\noil = { mass = \"1 g\" }\n", "holds no oil"),
        (
            "[volume.c]\nkind = \"cabinet\"\nvolume = \"150 L\"\nwall = { wet = \"1 W/K\", heat_capacity = \"1 J/K\" }\n",
            "ambient air",
        ),
        ("[volume.v]\nvolume = \"1 L\"\nlower_flammable_limit = \"6 %\"\n", "kind = \"cabinet\""),
    ] {
        let message = told(&format!("{HEAD}{text}"));
        assert!(message.contains(wanted), "{message}\n{text}");
    }
}

#[test]
fn elements_join_only_what_they_can() {
    let cabinet = "[volume.c]\nkind = \"cabinet\"\nvolume = \"150 L\"\n";
    for (keys, wanted) in [
        ("kind = \"fan\"\nfrom = \"loop\"\nflow = \"10 m3/h\"", "airs a cabinet"),
        ("kind = \"heater\"\nfrom = \"loop\"\npower = \"100 W\"", "a volume with a wall"),
        (
            "kind = \"compressor\"\nfrom = \"loop\"\nto = \"ambient\"\ndisplacement = \"8 cm3\"\nspeed = \"24 Hz\"",
            "two closed volumes",
        ),
        ("kind = \"heat link\"\nfrom = \"c\"\nto = \"loop\"\nconductance = \"1 W/K\"", "two closed volumes"),
        (
            "kind = \"vacuum pump\"\nfrom = \"ambient\"\nto = \"loop\"\nspeed = \"1 L/s\"\nultimate = \"1 Pa\"",
            "draws from a closed volume",
        ),
        ("kind = \"orifice\"\nfrom = \"loop\"\nto = \"loop\"\ndiameter = \"1 mm\"", "both `loop`"),
        ("kind = \"fan\"\nfrom = \"c\"\nto = \"ambient\"\nflow = \"10 m3/h\"", "has one end"),
    ] {
        let message = told(&format!("{HEAD}{LOOP}{cabinet}[element.x]\n{keys}\n"));
        assert!(message.contains(wanted) && message.contains("net.toml:"), "{message}\n{keys}");
    }
}
