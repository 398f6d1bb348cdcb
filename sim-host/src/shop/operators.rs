//! The list of operators: added, removed, shown, and why it stays as it is.

use valvewright_core::record::event::Changed;
use valvewright_core::record::roster::{
    Denied, NAME_BYTES, NAME_LETTERS, NUMBER_MOST, OPERATORS, Operator, Role, Roster, name,
};
use valvewright_core::record::workshop::key;

use super::Trouble;
use super::opened::Shop;

fn denied(of: Denied, number: u16) -> Trouble {
    let (why, help) = match of {
        Denied::Full => (format!("{OPERATORS} operators are on the list"), "take one off first".to_owned()),
        Denied::Taken => (format!("the number {number} is somebody's"), "take another number".to_owned()),
        Denied::Number => (format!("{number} is no operator's number"), format!("accepted range: 1 to {NUMBER_MOST}")),
        Denied::Nobody => (
            format!("nobody has the number {number}"),
            "`valvewright station operators list --store FILE` says who is on the list".to_owned(),
        ),
        Denied::LastSupervisor => (
            format!("{number} is the last supervisor"),
            "add another supervisor before: without one nothing that is protected could be changed any more".to_owned(),
        ),
        Denied::FirstSupervisor => {
            ("the first on the list has to be a supervisor".to_owned(), "add a supervisor first".to_owned())
        }
    };
    Trouble::new(why, help)
}

fn put(shop: &mut Shop, roster: &Roster, who: Option<u16>) -> Result<(), Trouble> {
    shop.change("the list of operators", |all| all.put(key::OPERATORS, &roster.encode()))?;
    shop.changed(Changed::Operators, who)
}

/// Adds one. Only a supervisor may, but for the first on an empty list.
///
/// # Errors
/// The list stays as it is.
pub fn add(shop: &mut Shop, number: u16, text: &str, role: Role, who: Option<u16>) -> Result<(), Trouble> {
    let mut roster = shop.roster();
    if !roster.all().is_empty() {
        shop.supervisor(who, "adding an operator")?;
    }
    let name = name(text).ok_or_else(|| {
        let why = format!("`{text}` is no name of an operator");
        Trouble::new(
            why,
            format!("accepted: 1 to {NAME_LETTERS} letters in at most {NAME_BYTES} bytes, no blank at either end"),
        )
    })?;
    roster.add(Operator { number, role, name }).map_err(|why| denied(why, number))?;
    put(shop, &roster, who)
}

/// Takes one off.
///
/// # Errors
/// The list stays as it is.
pub fn remove(shop: &mut Shop, number: u16, who: Option<u16>) -> Result<(), Trouble> {
    shop.supervisor(who, "taking an operator off the list")?;
    let mut roster = shop.roster();
    roster.remove(number).map_err(|why| denied(why, number))?;
    put(shop, &roster, who)
}
