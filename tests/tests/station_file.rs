//! A station's file: what its controller must know follows from the network or agrees with it, and the reference file gives what the
//! core's own reference says, to the last bit.

use valvewright_core::config::StationConfig;
use valvewright_core::fluid::Refrigerant;
use valvewright_core::frame::{Actuators, Analog};
use valvewright_core::sense::SenseConfig;
use valvewright_core::station::fill_limit;
use valvewright_core::units::{AbsPa, CentiKelvin, Microlitre, Milligram, Millis};
use valvewright_sim::scenario::diagnostic::{Diagnostic, Source};
use valvewright_sim::station::{SHIPPED, StationFile, read};

/// Text of a shipped station.
fn text(name: &str) -> &'static str {
    SHIPPED.iter().find(|one| one.name == name).expect("shipped").text
}

/// The text with each edit made at the one place where its text stands.
fn edited(name: &str, edits: &[(&str, &str)]) -> String {
    edits.iter().fold(text(name).to_owned(), |text, (old, new)| {
        assert_eq!(text.matches(old).count(), 1, "`{old}` must stand once in {name}.toml");
        text.replace(old, new)
    })
}

fn station(name: &str, edits: &[(&str, &str)]) -> Result<StationFile, Vec<Diagnostic>> {
    read(&Source::new("own.toml", edited(name, edits)))
}

fn config(name: &str, edits: &[(&str, &str)]) -> StationConfig {
    let station = station(name, edits).unwrap_or_else(|wrong| panic!("{wrong:?}"));
    station.facts.config(Refrigerant::R1234yf, Millis(50), AbsPa(101_325))
}

/// Shows LS7.
#[test]
fn the_reference_file_gives_the_cores_reference_to_the_last_bit() {
    for refrigerant in [Refrigerant::R1234yf, Refrigerant::R134a] {
        for scan in [10, 20, 50, 100].map(Millis) {
            let made = station("workshop", &[]).expect("shipped").facts.config(refrigerant, scan, AbsPa(90_000));
            let reference = StationConfig {
                scan,
                sense: SenseConfig::for_scan(scan),
                barometer: AbsPa(90_000),
                ..StationConfig::reference(refrigerant)
            };
            assert_eq!(made, reference);
        }
    }
}

/// What the table states of the reference is what the network gives within its rounding: without the table only the hose differs.
#[test]
fn a_file_without_a_table_is_a_station_of_its_network() {
    let whole = text("workshop");
    let (start, end) = (whole.find("[controller]").expect("there"), whole.find("# -----").expect("there"));
    let end = whole[start..].find("# -----").map_or(end, |at| start + at);
    let bare = format!("{}{}", &whole[..start], &whole[end..]);
    let made = read(&Source::new("bare.toml", bare)).expect("reads").facts;
    let made = made.config(Refrigerant::R1234yf, Millis(50), AbsPa(101_325));
    assert_eq!(made, StationConfig { hose: Microlitre(54_300), ..StationConfig::reference(Refrigerant::R1234yf) });
}

/// Nothing but the file is changed: the fill limit and the platform's range follow the vessel.
#[test]
fn another_vessel_has_another_fill_limit_and_another_scale() {
    let small = config("workshop", &[("volume = \"12.5 L\"", "volume = \"8 L\""), ("rated = \"10 kg\"\n", "")]);
    assert_eq!((small.vessel, small.vessel_rated), (Microlitre(8_000_000), Milligram(6_400_000)));
    let at = CentiKelvin::from_centi_celsius(4_000);
    let (limit, reference) = (fill_limit(&small, at), fill_limit(&config("workshop", &[]), at));
    assert_eq!((limit, reference), (Milligram(6_400_000), Milligram(10_000_000)));
    let hot = CentiKelvin::from_centi_celsius(6_000);
    let (limit, reference) = (fill_limit(&small, hot).0, fill_limit(&config("workshop", &[]), hot).0);
    assert!((f64::from(limit) / f64::from(reference) - 8.0 / 12.5).abs() < 1e-6, "{limit} {reference}");
    assert_eq!(small.sense.scales[0].cal.span_mass(), Milligram(16_000_000));
    assert_eq!(small.sense.scales[0].cal.span_code(), 5_100_000);
    assert_eq!(small.sense.scales[2], StationConfig::reference(Refrigerant::R1234yf).sense.scales[2]);
}

#[test]
fn the_second_station_is_what_its_file_says() {
    let made = config("fleet_yard", &[]);
    assert_eq!(made.fitted, Actuators::ALL.without(Actuators::HEATER));
    assert!(!made.heats());
    assert_eq!((made.vessel, made.vessel_rated), (Microlitre(40_000_000), Milligram(32_000_000)));
    assert_eq!((made.hose, made.manifold), (Microlitre(90_500), Microlitre(20_000)));
    // 5 x 250 L at 120 m3/h; 0.65 x 1.13 mm2 x 1.4; 12 cm3 x 24/s x 0.92.
    assert_eq!((made.air_changes, made.charge_area_e9, made.compressor_draws), (Millis(37_500), 1_029, 264));
    let channel = made.sense.channels[Analog::Pt1 as usize];
    assert_eq!((channel.low(), channel.high()), (0, 4_000_000));
    assert_eq!(made.sense.channels[Analog::Pt2 as usize].high(), 3_500_000);
    assert_eq!(made.sense.channels[Analog::Tt2 as usize].high(), 47_315);
}

/// Numbers that follow one another as if by chance, the same each time.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % most
    }
}

/// Whatever stands in a file, it is read or refused with places, and what is read suits the core: its scales have a span, its
/// platform room for the rating, and its set points stand in order.
#[test]
fn no_file_makes_the_reader_panic_or_the_core_unsound() {
    const ODD: [&str; 18] = [
        "\"0 L\"",
        "\"-1 kg\"",
        "\"1e9 kg\"",
        "\"1e-9 m3\"",
        "\"nan L\"",
        "nan",
        "inf",
        "-0.0",
        "1e308",
        "true",
        "[]",
        "{}",
        "\"\"",
        "\"XV-5\"",
        "[\"H-1\", \"H-2\"]",
        "\"vessel\"",
        "\"separator\"",
        "\"40 kPa\"",
    ];
    const KEYS: [&str; 9] = [
        "vessel",
        "hose",
        "rated",
        "heel",
        "recovery_end",
        "recovery_restart",
        "without",
        "scales",
        "compressor_draws",
    ];
    let mut dice = Dice(7);
    let (mut read_well, mut refused) = (0, 0);
    for round in 0..3_000 {
        let mut lines: Vec<String> = text(SHIPPED[round % 2].name).lines().map(str::to_owned).collect();
        for _ in 0..=dice.below(2) {
            let at = dice.below(lines.len());
            match dice.below(5) {
                0 => {
                    lines.remove(at);
                }
                1 => {
                    let other = dice.below(lines.len());
                    lines.swap(at, other);
                }
                2 => {
                    let head = lines.iter().position(|line| line.starts_with("[controller]")).unwrap_or(at);
                    lines
                        .insert(head + 1, format!("{} = {}", KEYS[dice.below(KEYS.len())], ODD[dice.below(ODD.len())]));
                }
                _ => {
                    if let Some((key, _)) = lines[at].clone().split_once(" = ") {
                        lines[at] = format!("{key} = {}", ODD[dice.below(ODD.len())]);
                    }
                }
            }
        }
        match read(&Source::new("odd.toml", lines.join("\n"))) {
            Err(wrong) => {
                refused += 1;
                assert!(
                    !wrong.is_empty() && wrong.iter().all(|one| one.line > 0 && !one.message.is_empty()),
                    "{wrong:?}"
                );
            }
            Ok(station) => {
                read_well += 1;
                let made = station.facts.config(Refrigerant::R134a, Millis(50), AbsPa(101_325));
                assert!(
                    made.vessel_heel < made.vessel_rated && made.vessel_rated < made.sense.scales[0].cal.span_mass()
                );
                assert!(AbsPa(30_000) < made.recovery_end && made.recovery_end < made.recovery_restart);
                assert!(made.charge_area_e9 > 0 && made.compressor_draws > 0 && made.leak_limit > 0);
                assert!(fill_limit(&made, CentiKelvin::from_centi_celsius(2_100)) <= made.vessel_rated);
            }
        }
    }
    assert!(read_well > 300 && refused > 1_000, "{read_well} read, {refused} refused");
}
