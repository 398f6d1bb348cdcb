//! The reader of scenario and network files: units come out in SI, mistakes come out with their place, nothing makes it panic.

use proptest::prelude::*;
use valvewright_sim::scenario::diagnostic::{Diagnostic, Source};
use valvewright_sim::scenario::quantity::{self, Dim};
use valvewright_sim::scenario::reader;

fn close(got: f64, want: f64) {
    assert!((got - want).abs() <= 1e-12 * want.abs(), "got {got}, want {want}");
}

/// Conversions by their definitions (SI brochure; litre, bar and minute are exact).
#[test]
fn units_convert_to_si() {
    for (text, dim, want) in [
        ("23.5 degC", Dim::Temperature, 296.65),
        ("-10 degC", Dim::Temperature, 263.15),
        ("480 g", Dim::Mass, 0.48),
        ("4 L", Dim::Volume, 4e-3),
        ("10 cm3", Dim::Volume, 1e-5),
        ("3500 J/K", Dim::HeatCapacity, 3500.0),
        ("25 W/K", Dim::Conductance, 25.0),
        ("0.8 mm", Dim::Length, 8e-4),
        ("30 um", Dim::Length, 3e-5),
        ("30 µm", Dim::Length, 3e-5),
        ("1440 rpm", Dim::Speed, 24.0),
        ("24 1/s", Dim::Speed, 24.0),
        ("20 min", Dim::Time, 1200.0),
        ("40 kPa", Dim::Pressure, 4e4),
        ("1.2bar", Dim::Pressure, 1.2e5),
        ("0.5 mbar", Dim::Pressure, 50.0),
        ("70 L/min", Dim::VolumeFlow, 70e-3 / 60.0),
        ("2e-8 kg/s/Pa", Dim::Permeance, 2e-8),
        ("4e-9 1/Pa", Dim::Compliance, 4e-9),
        ("50 %", Dim::Fraction, 0.5),
        ("150 ppm", Dim::Fraction, 150e-6),
        ("900 J/kg/K", Dim::SpecificHeat, 900.0),
        ("20 kg/m^3", Dim::Density, 20.0),
        ("20 kg/m³", Dim::Density, 20.0),
    ] {
        close(quantity::parse(text, dim).unwrap_or_else(|wrong| panic!("{text}: {wrong}")).si, want);
    }
}

#[test]
fn wrong_units_name_the_right_ones() {
    for (text, dim, said) in [
        ("480 g", Dim::Pressure, "is a mass, an absolute pressure is needed"),
        ("480", Dim::Mass, "no unit"),
        ("480 gramm", Dim::Mass, "unknown unit `gramm`"),
        ("23,5 degC", Dim::Temperature, "decimal comma"),
        ("warm", Dim::Temperature, "does not begin with a number"),
        ("3 bar g", Dim::Pressure, "absolute"),
        ("4 KG", Dim::Mass, "nearest valid unit: `kg`"),
        ("1e999 g", Dim::Mass, "too large"),
    ] {
        let wrong = quantity::parse(text, dim).expect_err(text).to_string();
        assert!(wrong.contains(said), "{text}: {wrong}");
    }
}

fn first_problem(text: &str) -> Diagnostic {
    let source = Source::new("car.toml", text);
    let read = || {
        let document = reader::parse(&source)?;
        let mut root = document.root();
        let mut vehicle = root.node("vehicle")?;
        vehicle.quantity("content", Dim::Mass, 0.001..=5.0)?;
        vehicle.opt_quantity("ambient", Dim::Temperature, 263.15..=323.15)?;
        vehicle.opt_one_of("oil", &["PAG 46", "POE 68"])?;
        vehicle.finish()?;
        root.finish()
    };
    read().expect_err("this text has a fault")
}

#[test]
fn mistakes_are_reported_where_they_stand() {
    for (text, line, column, message, help) in [
        ("[vehicle]\ncontent = \"9 kg\"", 2, 11, "\"9 kg\" is outside", "accepted range: 0.001 kg to 5 kg"),
        ("[vehicle]\ncontent = 480", 2, 11, "480 has no unit", "\"480 g\""),
        ("[vehicle]\n  contnet = \"480 g\"", 2, 3, "unknown key `contnet`", "nearest valid key: `content`"),
        (
            "[vehicle]\ncontent = \"1 g\"\nambiant = \"5 degC\"",
            3,
            1,
            "unknown key `ambiant`",
            "nearest valid key: `ambient`",
        ),
        ("[vehicle]\n", 1, 1, "`content` is missing in [vehicle]", "1 g to 5000 g"),
        ("[vehicel]\n", 1, 2, "unknown key `vehicel`", "nearest valid key: `vehicle`"),
        ("vehicle = 3", 1, 11, "a table [vehicle] is needed, this is integer", "write a table"),
        ("[vehicle]\ncontent = \"1 g\"\noil = \"PAG46\"", 3, 7, "not known here", "nearest valid value: `PAG 46`"),
        ("[vehicle\ncontent = 1", 1, 9, "broken TOML", "key = value"),
        ("é = 1\n[vehicle]\ncontent = \"1 g\"\n", 1, 1, "broken TOML", "key = value"),
    ] {
        let found = first_problem(text);
        assert!(found.message.contains(message), "{text}: {found}");
        assert!(found.help.as_deref().unwrap_or_default().contains(help), "{text}: {found}");
        assert_eq!((found.line, found.column), (line, column), "{text}: {found}");
    }
}

proptest! {
    #[test]
    fn no_text_makes_the_quantity_parser_panic(text in ".{0,40}") {
        for dim in [Dim::Mass, Dim::Temperature, Dim::Number, Dim::Fraction] {
            if let Ok(found) = quantity::parse(&text, dim) {
                prop_assert!(found.si.is_finite());
            }
        }
    }

    #[test]
    fn number_like_text_neither(text in "[-+]?[0-9.eE+-]{0,8} ?(g|kg|degC|%|)") {
        if let Ok(found) = quantity::parse(&text, Dim::Mass) {
            prop_assert!(found.si.is_finite());
        }
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in "(?s).{0,200}") {
        let source = Source::new("random", text);
        if let Err(wrong) = reader::parse(&source) {
            prop_assert!(wrong.line >= 1 && wrong.column >= 1);
        }
    }

    #[test]
    fn a_gram_written_is_a_gram_read(grams in 0.001f64..20_000.0) {
        let read = quantity::parse(&format!("{grams} g"), Dim::Mass).unwrap().si;
        prop_assert!((read - grams / 1000.0).abs() <= 1e-12 * read);
    }
}
