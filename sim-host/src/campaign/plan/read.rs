//! A plan from a file that a person can read: every key with its range, every mistake with its place.

use valvewright_core::row::RowId;

use super::factors::factors;
use super::list;
use super::occasion::{self, Occasion};
use super::ways;
use super::{Design, Heal, Moments, Plan, Together, Way};
use crate::board::Port;
use crate::scenario::bounds::plain_name;
use crate::scenario::diagnostic::{Diagnostic, Problems, Source, nearest};
use crate::scenario::parse_fault;
use crate::scenario::quantity::Dim;
use crate::scenario::reader::{self, Node};

/// Runs of a shard where the file says nothing: some seconds of work (own choice).
const SHARD: u64 = 100;
/// Most runs of a drawn design.
const MOST_RUNS: i64 = 1_000_000_000;
/// A day, s.
const DAY: f64 = 86_400.0;
/// The core in this program.
const BUILT_IN: &str = "built_in";

/// Reads a plan, or says everything that is wrong with it.
///
/// # Errors
/// All mistakes of the file, each with its place.
pub fn read(source: &Source) -> Result<Plan, Vec<Diagnostic>> {
    let document = reader::parse(source).map_err(|one| vec![one])?;
    let mut problems = Problems::new();
    let plan = root(document.root(), source, &mut problems);
    plan.filter(|_| problems.is_empty()).ok_or_else(|| problems.into_list())
}

fn root(mut node: Node, source: &Source, p: &mut Problems) -> Option<Plan> {
    let name = p.take(plain_name(&mut node));
    let title = p.take(node.string("title"));
    let seed = p.take(node.opt_integer("seed", 0..=i64::MAX));
    let shard = p.take(node.opt_integer("shard", 10..=100_000));
    let controller = p.take(controller(&mut node));
    let word = p.take(node.one_of("design", &Design::WORDS));
    let runs = p.take(node.opt_integer("runs", 1..=MOST_RUNS));
    let base = p.take(node.node("factors")).and_then(|node| factors(node, &source.name, p));
    let faults = p.take(node.opt_node("faults")).and_then(|node| faults(node, word, p));
    let tables = p.take(node.nodes("fault")).unwrap_or_default();
    let more: Vec<Option<Vec<Way>>> = tables.into_iter().map(|node| ways::of_one(node, p)).collect();
    let moments = p.take(node.opt_node("moments")).and_then(|node| moments(node, p));
    let heal = p.take(node.opt_node("heal")).and_then(|node| heal(node, p));
    let ablation = p.take(node.opt_node("ablation")).and_then(|node| ablation(node, p));
    let listed = p.take(node.nodes("run")).unwrap_or_default();
    let given = listed.len();
    let list: Vec<_> = listed.into_iter().map(|node| list::run(node, base.as_ref(), p)).collect();
    let design = word.zip(runs).and_then(|(word, runs)| design(&node, (word, runs, given), faults.as_ref(), p));
    node.finish_into(p);
    let (base, faults, design) = (base?, faults?, design?);
    let mut ways = faults.ways;
    more.into_iter().flatten().for_each(|more| ways.extend(more));
    let plan = Plan {
        name: name?,
        title: title?,
        seed: seed?.unwrap_or(1).unsigned_abs(),
        controller: controller?,
        design,
        shard: shard?.map_or(SHARD, i64::unsigned_abs),
        scenarios: base.scenarios,
        stations: base.stations,
        factors: base.factors,
        seeds: base.seeds,
        ways,
        together: faults.together,
        moments: moments?,
        heal: heal?,
        list: list.into_iter().collect::<Option<_>>()?,
        ablation: ablation?,
        text: source.text.clone(),
    };
    whole(&plan, source, p);
    Some(plan)
}

/// What is wrong with a plan only as a whole.
fn whole(plan: &Plan, source: &Source, p: &mut Problems) {
    let mut wrong = |what: &str, help: &str| p.push(source.diagnose(0..0, what).with_help(help));
    let has_moments = plan.moments.each > 0 || !plan.moments.named.is_empty();
    let at_a_moment = plan.ways.iter().any(Way::has_a_moment);
    if at_a_moment && !has_moments && plan.design != Design::List {
        wrong("there are faults and no moments at which they come", "add [moments], such as `each = 3`");
    }
    if plan.together != Together::One && plan.ways.len() < 2 {
        wrong("[faults] together = 2, and there is one fault", "name at least two faults");
    }
    if let (Design::Swarm { least, most, .. }, n) = (plan.design, plan.ways.len())
        && (n < most || n == 0)
    {
        let what = format!("a swarm of {least} to {most} faults is drawn from {n}");
        wrong(&what, "name at least as many faults as `most` in [faults]");
    }
    if plan.controller.is_some() && (plan.heal.is_some() || !plan.ablation.is_empty()) {
        wrong(
            "another controller beside [heal] or [ablation]: both look into the core, and no other can be looked into",
            "take [heal] and [ablation] out, or let controller be \"built_in\"",
        );
    }
    let listed = plan.design == Design::List;
    if listed && (!plan.ways.is_empty() || !plan.factors.is_empty() || has_moments) {
        wrong(
            "design \"list\" beside faults, moments or varied keys, which it does not combine",
            "say them in each [[run]]: `faults` and `set`",
        );
    }
    /// Longer factors meet in tables that no memory holds.
    const LONGEST: usize = 10_000;
    if plan.design == Design::Pairwise && plan.seeds.count() > LONGEST {
        wrong("factors.seeds: more than 10 000 in a pairwise design", "ask for fewer, or let design be \"latin\"");
    }
    let spans = plan.factors.iter().any(|one| one.values.levels().is_none());
    if spans && !matches!(plan.design, Design::Latin(_) | Design::Swarm { .. }) {
        wrong(
            "a factor goes from one figure to another, which this design cannot count",
            "list its values, or let design be \"latin\" or \"swarm\"",
        );
    }
}

/// Faults and how many come together.
struct Faults {
    ways: Vec<Way>,
    together: Together,
    least: Option<usize>,
    most: Option<usize>,
}

/// None for the core, or the command of a program.
fn controller(node: &mut Node) -> Result<Option<String>, Diagnostic> {
    let Some(command) = node.opt_string("controller")? else { return Ok(None) };
    if command == BUILT_IN {
        return Ok(None);
    }
    let wrong = if command.starts_with(Port::PREFIX) {
        "each run starts its controller anew, and a port has one"
    } else if command.trim().is_empty() {
        "an empty command"
    } else {
        return Ok(Some(command));
    };
    let help = format!(
        "accepted: \"{BUILT_IN}\", or the command of a program: \"python3 mine.py\"; a board runs alone: valvewright run --controller"
    );
    Err(node.error_at("controller", format!("controller: {wrong}")).with_help(help))
}

fn design(
    node: &Node,
    (word, runs, listed): (&str, Option<i64>, usize),
    faults: Option<&Faults>,
    p: &mut Problems,
) -> Option<Design> {
    let needs_runs = matches!(word, "latin" | "swarm");
    if needs_runs != runs.is_some() {
        let wrong = if needs_runs {
            node.missing("runs", "how many are drawn")
        } else {
            node.error_at("runs", format!("runs: design \"{word}\" counts its runs itself"))
                .with_help("take `runs` out")
        };
        p.push(wrong);
    }
    if (word == "list") != (listed > 0) {
        let wrong = if word == "list" {
            node.error_at("design", "design: a list, and nothing is listed").with_help("add [[run]] tables")
        } else {
            node.error_at("design", format!("design: [[run]] tables beside design \"{word}\""))
                .with_help("let design be \"list\", or take them out")
        };
        p.push(wrong);
    }
    let runs = runs.map_or(0, i64::unsigned_abs);
    let (least, most) = (faults?.least.unwrap_or(1), faults?.most.unwrap_or(3));
    Some(match word {
        "full" => Design::Full,
        "pairwise" => Design::Pairwise,
        "latin" => Design::Latin(runs),
        "swarm" => Design::Swarm { runs, least, most: most.max(least) },
        _ => Design::List,
    })
}

/// A table that is not there holds no faults.
fn faults(node: Option<Node>, word: Option<&str>, p: &mut Problems) -> Option<Faults> {
    let usual = Faults { ways: Vec::new(), together: Together::One, least: None, most: None };
    let Some(mut node) = node else { return Some(usual) };
    let ways = ways::of_table(&mut node, p);
    let together = p.take(node.opt_integer("together", 1..=2));
    let spread = p.take(node.opt_one_of("spread", &["at_once", "apart"]));
    let least = p.take(node.opt_integer("least", 0..=20));
    let most = p.take(node.opt_integer("most", 1..=20));
    for key in ["least", "most"] {
        if node.has(key) && word.is_some_and(|word| word != "swarm") {
            p.push(node.error_at(key, format!("faults.{key}: only a swarm draws how many")).with_help("take it out"));
        }
    }
    if node.has("together") && word.is_some_and(|word| word != "full" && word != "latin") {
        let wrong = node.error_at("together", "faults.together: for design \"full\" and \"latin\"");
        p.push(wrong.with_help("take it out; a swarm has `least` and `most`"));
    }
    if node.has("spread") && together != Some(Some(2)) {
        let wrong = node.error_at("spread", "faults.spread: only two faults together are spread");
        p.push(wrong.with_help("add `together = 2`, or take `spread` out"));
    }
    if let (Some(Some(least)), Some(Some(most))) = (least, most)
        && most < least
    {
        p.push(node.error_at("most", "faults.most is below faults.least").with_help("the most is at least the least"));
    }
    node.finish_into(p);
    let together = match (together?, spread?) {
        (Some(2), Some("apart")) => Together::TwoApart,
        (Some(2), _) => Together::TwoAtOnce,
        _ => Together::One,
    };
    let count = |n: Option<i64>| n.map(|n| n as usize);
    Some(Faults { ways: ways?, together, least: count(least?), most: count(most?) })
}

fn moments(node: Option<Node>, p: &mut Problems) -> Option<Moments> {
    let Some(mut node) = node else { return Some(Moments::default()) };
    let each = p.take(node.opt_integer("each", 1..=1_000));
    let steps = p.take(node.strings("steps"));
    let at = p.take(node.list_of_quantities("at", Dim::Time, 0.0..=DAY));
    let begins = p.take(node.strings("begins"));
    let mut named = Vec::new();
    for text in steps.iter().flatten() {
        match occasion::step(text) {
            Ok(one) => named.push(one),
            Err((what, help)) => {
                p.push(node.error_at("steps", format!("moments.steps: `{text}`: {what}")).with_help(help));
            }
        }
    }
    named.extend(at?.into_iter().map(Occasion::At));
    for words in begins? {
        // Any fault that may come at any moment says whether the words are right.
        match parse_fault::read_words(&format!("F001 {words}")) {
            Ok(_) => named.push(Occasion::Begins(words)),
            Err(list) => {
                let (what, help) = list.into_iter().next().map(|one| (one.message, one.help)).unwrap_or_default();
                let wrong = node.error_at("begins", format!("moments.begins: `{words}`: {what}"));
                p.push(wrong.with_help(help.unwrap_or_default()));
            }
        }
    }
    node.finish_into(p);
    steps?;
    Some(Moments { each: each?.map_or(0, |n| n as u32), named })
}

fn heal(node: Option<Node>, p: &mut Problems) -> Option<Option<Heal>> {
    let Some(mut node) = node else { return Some(None) };
    let after = p.take(node.quantity("after", Dim::Time, 1.0..=DAY));
    let within = p.take(node.quantity_or("within", Dim::Time, 60.0..=DAY, 1_800.0));
    node.finish_into(p);
    Some(Some(Heal { after: after?, within: within? }))
}

/// Rows that are left out one at a time; a table that is not there leaves out none.
fn ablation(node: Option<Node>, p: &mut Problems) -> Option<Vec<RowId>> {
    let Some(mut node) = node else { return Some(Vec::new()) };
    let rows = p.take(left_out(&mut node));
    node.finish_into(p);
    rows
}

fn left_out(node: &mut Node) -> Result<Vec<RowId>, Diagnostic> {
    if !node.holds_list("rows") {
        node.one_of("rows", &["all"])?;
        return Ok(RowId::ALL.to_vec());
    }
    let mut found = Vec::new();
    for text in node.strings("rows")? {
        let row = RowId::ALL.into_iter().find(|row| row.as_str() == text).ok_or_else(|| {
            let all = RowId::ALL.iter().map(|row| row.as_str());
            let near = nearest(&text, all.clone()).map(|near| format!("nearest: `{near}`; ")).unwrap_or_default();
            let wrong = node.error_at("rows", format!("ablation.rows: the interlock table has no row `{text}`"));
            wrong.with_help(format!("{near}\"all\", or a list of: {}", all.collect::<Vec<_>>().join(", ")))
        })?;
        if !found.contains(&row) {
            found.push(row);
        }
    }
    Ok(found)
}
