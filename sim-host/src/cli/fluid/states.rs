//! Many states through one call: every line of a file or a pipe is answered, in order, a bad one with what is wrong with it.

use std::fmt::Write as _;
use std::fs::File;
use std::io::{self, BufRead, BufReader, BufWriter, Read, Write};

use serde::Serialize;

use super::property::{self, Given, KINDS, Kind};
use crate::cli::Global;
use crate::cli::output::{Exit, Refusal};
use crate::fluid::{Fluid, Found, Pair, Property, Sat, State};
use crate::scenario::diagnostic::nearest;
use crate::scenario::quantity::{Dim, Unit};

/// So many messages about bad lines are told at the end; all of them stand in their lines.
const TOLD: usize = 5;
/// A longer line is no state, and is cut rather than kept.
const LONGEST: u64 = 4096;

/// One column of the input.
struct Column {
    name: String,
    kind: &'static Kind,
    /// Unit of bare numbers; `None`: each value carries its own.
    unit: Option<&'static Unit>,
}

/// What the heading says.
struct Heading {
    columns: [Column; 2],
    separator: char,
}

/// Answers every state of the file at `path`, or of standard input for `-`.
pub fn states(fluid: &Fluid, path: &str, global: Global) -> Result<Exit, Refusal> {
    let source: Box<dyn Read> = if path == "-" {
        Box::new(io::stdin().lock())
    } else {
        Box::new(File::open(path).map_err(|wrong| Refusal::misuse(format!("{path} cannot be opened: {wrong}")))?)
    };
    let path = if path == "-" { "standard input" } else { path };
    let mut lines = Lines { reader: BufReader::with_capacity(1 << 16, source), number: 0, bytes: Vec::new() };
    let unread = |wrong: io::Error| Refusal::misuse(format!("{path} cannot be read: {wrong}"));
    let Some(first) = lines.next().map_err(unread)? else {
        return Err(Refusal::misuse(format!("{path} holds no line")).with_help(HEADING));
    };
    let heading = Heading::read(&first)
        .map_err(|(wrong, help)| Refusal::misuse(format!("{path}:{}: {wrong}", lines.number)).with_help(help))?;
    let mut out = Output::new(&heading, global.json);
    let mut told = Vec::new();
    let (mut count, mut bad) = (0_u64, 0_u64);
    while let Some(line) = lines.next().map_err(unread)? {
        count += 1;
        let answer = heading.answer(fluid, &line);
        if let Err(wrong) = &answer {
            bad += 1;
            if told.len() < TOLD {
                told.push(format!("{path}:{}: {wrong}", lines.number));
            }
        }
        out.add(fluid, lines.number, answer);
        // Whoever feeds a pipe line by line gets each answer at once.
        if !out.flush_if(lines.reader.buffer().is_empty())? {
            return Ok(Exit::Held);
        }
    }
    out.flush_if(true)?;
    Ok(if bad == 0 { Exit::Held } else { complain(count, bad, &told) })
}

fn complain(count: u64, bad: u64, told: &[String]) -> Exit {
    let mut stderr = anstream::stderr().lock();
    let red = anstyle::AnsiColor::Red.on_default().bold();
    // Nobody is left to tell when standard error is closed.
    for one in told {
        let _ = writeln!(stderr, "{one}");
    }
    let more = bad - told.len() as u64;
    let more = if more > 0 { format!(", {more} of them not shown here") } else { String::new() };
    let _ = writeln!(
        stderr,
        "{red}valvewright:{red:#} {bad} of {count} states have no answer{more}; the others are answered"
    );
    Exit::Misuse
}

/// Lines of the input that say something: no blank ones, no comments.
struct Lines {
    reader: BufReader<Box<dyn Read>>,
    number: u64,
    bytes: Vec<u8>,
}

impl Lines {
    fn next(&mut self) -> io::Result<Option<String>> {
        loop {
            self.bytes.clear();
            if (&mut self.reader).take(LONGEST).read_until(b'\n', &mut self.bytes)? == 0 {
                return Ok(None);
            }
            self.number += 1;
            if self.bytes.len() as u64 == LONGEST && !self.bytes.ends_with(b"\n") {
                self.skip_line()?;
            }
            let text = String::from_utf8_lossy(&self.bytes);
            let text = text.trim_start_matches('\u{feff}').trim_end_matches(['\r', '\n']);
            if !text.trim().is_empty() && !text.starts_with('#') {
                return Ok(Some(text.to_owned()));
            }
        }
    }

    fn skip_line(&mut self) -> io::Result<()> {
        loop {
            let buffer = self.reader.fill_buf()?;
            let end = buffer.iter().position(|byte| *byte == b'\n');
            let used = end.map_or(buffer.len(), |at| at + 1);
            self.reader.consume(used);
            if end.is_some() || used == 0 {
                return Ok(());
            }
        }
    }
}

const HEADING: &str = "the first line names two columns with their units, such as `p_bar,t_degC`; pairs: p with t, h, s or x, t with x, \
                       rho with t or u";

fn cells(line: &str, separator: char) -> impl Iterator<Item = &str> {
    line.split(separator).map(|cell| cell.trim().trim_matches('"').trim())
}

impl Heading {
    /// Reads the heading; an error comes with advice.
    fn read(line: &str) -> Result<Self, (String, String)> {
        let separator = ['\t', ';'].into_iter().find(|sign| line.contains(*sign)).unwrap_or(',');
        let columns = cells(line, separator).map(Column::read).collect::<Result<Vec<_>, _>>()?;
        let count = columns.len();
        let columns: [Column; 2] =
            columns.try_into().map_err(|_| (format!("columns in the heading: {count}, not 2"), HEADING.to_owned()))?;
        let [one, other] = [&columns[0], &columns[1]].map(|column| (column.kind.property, 0.0));
        if Pair::of(one, other).is_none() {
            return Err((format!("{} and {} together are no state", one.0, other.0), HEADING.to_owned()));
        }
        Ok(Self { columns, separator })
    }

    /// The unit in which answers give a property.
    fn unit_of(&self, kind: &Kind) -> Option<&'static Unit> {
        let asked = self.columns.iter().find(|column| column.kind.property == kind.property);
        asked.and_then(|column| column.unit).or_else(|| kind.dim.unit(kind.unit).ok())
    }

    fn answer(&self, fluid: &Fluid, line: &str) -> Result<Found, String> {
        let mut cells = cells(line, self.separator);
        let (Some(a), Some(b), None) = (cells.next(), cells.next(), cells.next()) else {
            let count = line.split(self.separator).count();
            let plural = if count == 1 { "" } else { "s" };
            return Err(format!("{count} value{plural} where the heading names 2 columns"));
        };
        let given = [self.columns[0].value(a)?, self.columns[1].value(b)?];
        let [one, other] = given.map(|given| (given.kind.property, given.si));
        let pair = Pair::of(one, other).ok_or("no state")?;
        fluid.find(pair).map_err(|wrong| self.outside(fluid, &given, &wrong))
    }

    fn outside(&self, fluid: &Fluid, given: &[Given; 2], wrong: &crate::fluid::FluidError) -> String {
        match property::outside(fluid, given, wrong, |kind| kind.symbol.to_owned()) {
            Some(outside) => {
                let column = self.columns.iter().find(|column| column.kind.property == outside.kind.property);
                let name = column.map_or("", |column| column.name.as_str());
                format!("{name}: {} is outside the tables; {}", outside.value, outside.help)
            }
            None => wrong.to_string(),
        }
    }
}

impl Column {
    /// `p_bar`, `p [bar]`, `pressure (bar)` or `p`.
    fn read(cell: &str) -> Result<Self, (String, String)> {
        let lower = cell.to_lowercase().replace('-', "_");
        let names = || KINDS.iter().flat_map(|kind| [(kind, kind.flag), (kind, kind.symbol)]);
        let found = names().find_map(|(kind, name)| {
            let rest = lower.strip_prefix(&name.replace('-', "_"))?;
            (rest.is_empty() || rest.starts_with(['_', ' ', '[', '(']))
                .then_some((kind, &cell[cell.len() - rest.len()..]))
        });
        let Some((kind, rest)) = found else {
            let near = nearest(cell.split(['_', ' ', '[']).next().unwrap_or(cell), names().map(|(_, name)| name));
            let near = near.map_or(String::new(), |near| format!("nearest name: `{near}`; "));
            return Err((format!("`{cell}` is no property to ask by"), near + HEADING));
        };
        let rest = rest.trim_start_matches(['_', ' ']);
        let bare = |open, close| rest.strip_prefix(open).and_then(|rest| rest.strip_suffix(close));
        let unit = bare('[', ']').or_else(|| bare('(', ')')).unwrap_or(rest).trim();
        let unit = if unit.is_empty() {
            None
        } else {
            let wrong =
                |wrong: crate::scenario::quantity::QuantityError| (format!("{cell}: {}", wrong.message), wrong.help);
            Some(kind.dim.unit(unit).map_err(wrong)?)
        };
        Ok(Self { name: cell.to_owned(), kind, unit })
    }

    /// A value of this column: a number in its unit, or a quantity with its own.
    fn value(&self, cell: &str) -> Result<Given, String> {
        if let (Some(unit), Ok(number)) = (self.unit, cell.parse::<f64>()) {
            return Ok(Given { kind: self.kind, si: unit.to_si(number), unit: Some(unit.name()) });
        }
        if cell.is_empty() {
            return Err(format!("{}: no value", self.name));
        }
        Given::read(self.kind, cell).map_err(|wrong| format!("{}: {wrong}", self.name))
    }
}

/// One answer as JSON, SI.
#[derive(Serialize)]
struct Line<'a> {
    line: u64,
    #[serde(skip_serializing_if = "Option::is_none")]
    phase: Option<&'a str>,
    #[serde(flatten)]
    values: Option<Values>,
    #[serde(skip_serializing_if = "Option::is_none")]
    error: Option<&'a str>,
}

#[derive(Serialize, Clone, Copy)]
struct Values {
    t: f64,
    p: f64,
    #[serde(flatten)]
    state: Option<Bulk>,
}

/// What pressure and temperature on the saturation line leave open.
#[derive(Serialize, Clone, Copy)]
struct Bulk {
    quality: f64,
    rho: f64,
    h: f64,
    u: f64,
    s: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    viscosity: Option<f64>,
}

/// Answers on their way out, in the form that is wanted.
struct Output {
    out: BufWriter<io::StdoutLock<'static>>,
    text: String,
    json: bool,
    /// Units of the columns behind quality; the last is that of viscosity.
    units: Vec<&'static Unit>,
}

impl Output {
    fn new(heading: &Heading, json: bool) -> Self {
        let named = KINDS.iter().filter(|kind| kind.property != Property::Quality);
        let mut units: Vec<(&str, &'static Unit)> =
            named.filter_map(|kind| Some((kind.symbol, heading.unit_of(kind)?))).collect();
        units.extend(Dim::Viscosity.unit("uPa s").map(|unit| ("viscosity", unit)));
        let mut text = String::new();
        if !json {
            text += "line,phase,quality";
            for (name, unit) in &units {
                let _ = write!(text, ",{name} [{}]", unit.name());
            }
            text += ",error\n";
        }
        let units = units.into_iter().map(|(_, unit)| unit).collect();
        Self { out: BufWriter::with_capacity(1 << 16, io::stdout().lock()), text, json, units }
    }

    fn add(&mut self, fluid: &Fluid, line: u64, answer: Result<Found, String>) {
        let (phase, values, error) = match &answer {
            Ok(Found::Single(e)) => (Some(e.phase.name()), Some(single(fluid, e)), None),
            Ok(Found::Saturated(sat)) => (Some("saturated"), Some(saturated(sat)), None),
            Err(wrong) => (None, None, Some(wrong.as_str())),
        };
        if self.json {
            self.text += &serde_json::to_string(&Line { line, phase, values, error }).unwrap_or_default();
        } else {
            self.row(line, phase, values, error);
        }
        self.text.push('\n');
    }

    fn row(&mut self, line: u64, phase: Option<&str>, values: Option<Values>, error: Option<&str>) {
        let _ = write!(self.text, "{line},{},", phase.unwrap_or_default());
        let state = values.and_then(|values| values.state);
        digits(&mut self.text, state.map(|state| state.quality));
        let columns = [
            values.map(|values| values.t),
            values.map(|values| values.p),
            state.map(|state| state.rho),
            state.map(|state| state.h),
            state.map(|state| state.u),
            state.map(|state| state.s),
            state.and_then(|state| state.viscosity),
        ];
        for (value, unit) in columns.into_iter().zip(&self.units) {
            self.text.push(',');
            digits(&mut self.text, value.map(|si| unit.of_si(si)));
        }
        self.text.push(',');
        if let Some(error) = error {
            let _ = write!(self.text, "\"{}\"", error.replace('"', "\"\""));
        }
    }

    /// Hands on what there is, all the way if `now`; false when the reader went away, which is its right.
    fn flush_if(&mut self, now: bool) -> Result<bool, Refusal> {
        let mut done = self.out.write_all(self.text.as_bytes());
        self.text.clear();
        if now {
            done = done.and_then(|()| self.out.flush());
        }
        match done {
            Ok(()) => Ok(true),
            Err(wrong) if wrong.kind() == io::ErrorKind::BrokenPipe => Ok(false),
            Err(wrong) => Err(Refusal::unfinished(format!("standard output cannot be written: {wrong}"))),
        }
    }
}

fn single(fluid: &Fluid, e: &State) -> Values {
    let viscosity = fluid.viscosity(e);
    Values { t: e.t, p: e.p, state: Some(Bulk { quality: e.quality, rho: e.rho, h: e.h, u: e.u, s: e.s, viscosity }) }
}

fn saturated(sat: &Sat) -> Values {
    Values { t: sat.t, p: sat.p, state: None }
}

/// Nine significant digits without trailing zeros; nothing for nothing.
fn digits(text: &mut String, value: Option<f64>) {
    let Some(value) = value else { return };
    let size = value.abs();
    if !(1e-4..1e9).contains(&size) && size != 0.0 {
        let _ = write!(text, "{value:.8e}");
        return;
    }
    let whole = if size < 1e-4 { 0 } else { size.log10().floor() as i32 };
    let start = text.len();
    let _ = write!(text, "{value:.*}", usize::try_from(8 - whole).unwrap_or(0));
    if text[start..].contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
}
