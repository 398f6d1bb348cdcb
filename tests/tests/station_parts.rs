//! What a station's file must have, by the names that the simulator looks for: taken out, misspelt, or at odds with what it joins.

use valvewright_sim::scenario::diagnostic::{Diagnostic, Source};
use valvewright_sim::station::{SHIPPED, read};

fn workshop() -> &'static str {
    SHIPPED[0].text
}

/// The file without the table `[HEAD]` and what belongs to it.
fn without(heads: &[&str]) -> String {
    let mut kept = true;
    let mut text = String::new();
    for line in workshop().lines() {
        if let Some(head) = line.strip_prefix('[').and_then(|rest| rest.split(']').next()) {
            kept = !heads.iter().any(|gone| head == *gone || head.starts_with(&format!("{gone}.")));
        }
        if kept {
            text += &format!("{line}\n");
        }
    }
    assert_ne!(text.len(), workshop().len(), "{heads:?}");
    text
}

fn wrong(text: &str) -> Vec<Diagnostic> {
    read(&Source::new("own.toml", text)).err().unwrap_or_default()
}

/// The only mistake of a text.
#[track_caller]
fn only(text: &str) -> Diagnostic {
    let all = wrong(text);
    assert_eq!(all.len(), 1, "{all:?}");
    all.into_iter().next().expect("one")
}

fn renamed(old: &str, new: &str) -> String {
    let (old, new) = (format!("[element.{old}]"), format!("[element.{new}]"));
    assert_eq!(workshop().matches(&old).count(), 1, "{old}");
    workshop().replace(&old, &new)
}

/// Line, from 1, on which a text stands.
fn line_of(text: &str, what: &str) -> usize {
    let at = text.find(what).unwrap_or_else(|| panic!("{what}"));
    text[..at].matches('\n').count() + 1
}

#[test]
fn a_station_without_one_of_its_elements_is_refused_with_what_it_is_for() {
    for (head, what) in [
        ("element.coupler_low", "[element.coupler_low], hose and coupler between `vehicle_low`"),
        ("element.coupler_high", "[element.coupler_high], hose and coupler between `vehicle_high`"),
        ("element.\"XV-1\"", "[element.\"XV-1\"], the way from `hose_low`"),
        ("element.\"XV-2\"", "[element.\"XV-2\"], the way from `hose_high`"),
        ("element.\"XV-5+XV-10+XV-1\"", "[element.\"XV-5+XV-10+XV-1\"], the charge"),
        ("element.\"XV-5+XV-10+XV-2\"", "[element.\"XV-5+XV-10+XV-2\"], the charge"),
        ("element.\"XV-9+XV-1\"", "[element.\"XV-9+XV-1\"], new oil to `hose_low`"),
        ("element.\"XV-9+XV-2\"", "[element.\"XV-9+XV-2\"], new oil to `hose_high`"),
        ("element.vehicle_compressor", "[element.vehicle_compressor], the vehicle's own drive"),
        ("element.suction", "[element.suction], the vehicle's way"),
        ("element.expansion", "[element.expansion], the vehicle's way"),
        ("element.leak", "[element.leak], the scenario's hole"),
        ("element.release", "[element.release], what the operator opens"),
        ("element.nitrogen", "[element.nitrogen], what the operator opens"),
        ("element.\"PSV-1\"", "[element.\"PSV-1\"], a `relief valve` from `vessel`"),
        ("element.\"XV-3\"", "no element follows `XV-3`"),
        ("element.\"H-1+H-2\"", "no element follows `H-1`, `H-2`"),
    ] {
        let one = only(&without(&[head]));
        assert!(one.message.contains(what), "{head}: {one}");
        assert!(one.help.is_some_and(|help| help.contains("valvewright list workshop")), "{head}");
    }
    let all = wrong(&without(&["element.nitrogen", "volume.nitrogen_bottle", "element.leak"]));
    let told: Vec<&str> = all.iter().map(|one| one.message.as_str()).collect();
    assert!(told[0].contains("needs [volume.nitrogen_bottle]"), "{told:?}");
    assert!(told[1].contains("needs [element.leak]") && told[1].contains("; [element.nitrogen]"), "{told:?}");
    let lacking = wrong(&without(&["volume.nitrogen_bottle"]));
    assert!(
        lacking.iter().any(|one| one.message.contains("the station needs [volume.nitrogen_bottle]")),
        "{lacking:?}"
    );
}

/// `release/left` is nothing that the operator knows of.
#[test]
fn ways_of_an_element_count_as_it_where_all_of_them_move() {
    for (old, new) in [
        ("\"XV-1\"", "\"XV-1/main\""),
        ("\"XV-5+XV-10+XV-1\"", "\"XV-10+XV-5+XV-1/liquid\""),
        ("coupler_low", "\"coupler_low/hose\""),
        ("suction", "\"suction/main\""),
        ("\"PSV-1\"", "relief"),
    ] {
        assert_eq!(wrong(&renamed(old, new)), [], "{new}");
    }
    for (old, new) in [("release", "\"release/left\""), ("leak", "\"leak/a\""), ("\"H-1+H-2\"", "\"H-1+H-2/a\"")] {
        let text = renamed(old, new);
        let one = only(&text);
        assert_eq!(one.line, line_of(&text, new), "{one}");
        assert!(one.message.contains("is one element, without `/`"), "{one}");
    }
}

#[test]
fn a_misspelt_name_is_told_at_its_own_line_with_the_nearest() {
    for (old, new, nearest) in [
        ("coupler_low", "copuler_low", "coupler_low"),
        ("coupler_high", "couplr_hgh", "coupler_high"),
        ("leak", "leek", "leak"),
        ("nitrogen", "nitrogene", "nitrogen"),
        ("vehicle_compressor", "vehicle_compresor", "vehicle_compressor"),
        ("expansion", "Expansion", "expansion"),
        ("\"XV-5+XV-10+XV-2\"", "\"XV-5+XV10+XV-2\"", "XV-5+XV-10+XV-2"),
        ("\"XV-5+XV-10+XV-2\"", "\"XV-5+XV_10+XV-2\"", "XV-5+XV-10+XV-2"),
        ("\"XV-6\"", "\"XV-66\"", "XV-6"),
        ("\"XV-6\"", "xv6", "XV-6"),
        ("\"H-1+H-2\"", "\"H-1+H2\"", "H-1+H-2"),
        ("\"XV-3\"", "\"XV3/main\"", "XV-3/main"),
    ] {
        let text = renamed(old, new);
        let one = only(&text);
        assert_eq!(one.line, line_of(&text, &format!("[element.{new}]")), "{one}");
        let name = new.trim_matches('"');
        assert!(one.message.contains(&format!("`{name}`")), "{one}");
        assert!(one.help.as_ref().is_some_and(|help| help.contains(&format!("nearest name: `{nearest}`"))), "{one}");
    }
    // What was meant by it is another matter: XV-8 is still missing.
    let text = renamed("\"XV-8\"", "\"XV-12\"");
    let all = wrong(&text);
    assert!(
        all.iter().any(|one| one.message == "there is no actuator `XV-12`" && one.line == line_of(&text, "\"XV-12\""))
    );
    assert!(all.iter().any(|one| one.message.contains("no element follows `XV-8`")), "{all:?}");
    let text =
        SHIPPED[1].text.replace("volume.condenser", "volume.condensor").replace("\"condenser\"", "\"condensor\"");
    let one = only(&text);
    assert!(one.help.is_some_and(|help| help.contains("nearest name: `condenser`")));
}

#[test]
fn other_names_are_free() {
    let more = |name: &str| {
        format!(
            "{}\n\n[element.{name}]\nkind = \"orifice\"\nfrom = \"vessel\"\nto = \"discharge\"\ndiameter = \"1 mm\"\n",
            workshop()
        )
    };
    for name in [
        "overflow",
        "\"NRV-1\"",
        "\"PSV-2\"",
        "pipe2",
        "link",
        "\"cold+hot\"",
        "\"F-1\"",
        "suction_line",
        "7",
        "bypass",
    ] {
        assert_eq!(wrong(&more(name)), [], "{name}");
    }
    for name in ["\"C-2\"", "\"XV-11\"", "\"XV-5+pipe\""] {
        assert_eq!(wrong(&more(name)).len(), 1, "{name}");
    }
}

#[test]
fn bore_and_length_of_a_coupler_agree_with_the_volume_of_its_hose() {
    let edit = |coupler: &str, old: &str, new: &str| {
        let at = workshop().find(&format!("[element.{coupler}]")).expect("there");
        let (before, after) = workshop().split_at(at);
        assert!(after.contains(old));
        format!("{before}{}", after.replacen(old, new, 1))
    };
    for (coupler, old, new, held) in [
        ("coupler_low", "length = \"3 m\"", "length = \"40 m\"", "723.823 mL"),
        ("coupler_high", "diameter = \"4.8 mm\"", "diameter = \"6 mm\"", "84.823 mL"),
        ("coupler_high", "length = \"3 m\"", "length = \"2.6 m\"", "47.0485 mL"),
        ("coupler_low", "length = \"3 m\"", "length = \"3 m\"\ncount = 2", "108.573 mL"),
    ] {
        let text = edit(coupler, old, new);
        let one = only(&text);
        let side = coupler.trim_start_matches("coupler_");
        let from = text.find(&format!("[volume.hose_{side}]")).expect("there");
        let line = text[..from].matches('\n').count() + 2;
        let volume = format!("volume.hose_{side}.volume at own.toml:{line}:10 says 54.3 mL");
        assert!(one.message.contains(held) && one.message.contains(&volume), "{one}");
        let head = line_of(&text, &format!("[element.{coupler}]"));
        assert!(
            (head..head + 8).contains(&one.line) && one.message.contains(&format!("element.{coupler}.length")),
            "{one}"
        );
    }
    assert_eq!(wrong(&edit("coupler_low", "length = \"3 m\"", "length = \"3.2 m\"")), []);
}

/// The elements that use it do not know it, and why is told beside.
#[test]
fn a_missing_volume_is_told_as_what_the_station_needs() {
    let all = wrong(&without(&["volume.pump_inlet"]));
    let told: Vec<String> = all.iter().map(ToString::to_string).collect();
    assert!(told.iter().any(|one| one.contains("the station needs [volume.pump_inlet], a closed volume")), "{told:?}");
    assert!(told.iter().any(|one| one.contains("`pump_inlet` is not known here")), "{told:?}");
    // However many elements do not know them.
    let all = wrong(&without(&["volume.vessel", "volume.vehicle_low", "volume.vehicle_high", "volume.manifold"]));
    assert_eq!(all.len(), 20, "{all:?}");
    assert!(all.iter().any(|one| one.message.contains("the station needs [volume.vessel]")), "{all:?}");
}

/// A rating is held against a vessel that was read, not against the reference's.
#[test]
fn a_mistake_in_the_network_makes_no_other_of_the_controllers_figures() {
    let text = SHIPPED[1].text;
    assert!(text.contains("volume = \"40 L\"") && text.contains("rated = \"32 kg\""));
    for (old, new) in [("volume = \"40 L\"", "volume = \"40 kg\""), ("speed = \"100 L/min\"", "sped = \"100 L/min\"")] {
        let one = only(&text.replacen(old, new, 1));
        assert!(one.message.contains("40 kg") || one.message.contains("sped"), "{one}");
    }
}
