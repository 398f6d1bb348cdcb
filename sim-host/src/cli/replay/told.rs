//! What came of a replay, for programs and for people.

use serde::Serialize;

use super::jobs::{Job, Refused};
use crate::board::replay::Replayed;
use crate::report::data::FaultRecord;

/// One job, and what came of it on the board.
#[derive(Debug, Serialize)]
pub struct Line {
    name: String,
    /// The station that it was recorded on.
    station: String,
    /// What broke in it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    faults: Vec<FaultRecord>,
    pub scans: u64,
    pub identical: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    difference: Option<Told>,
    machine: Machine,
    #[serde(flatten)]
    costs: Costs,
    wall_seconds: f64,
}

/// What happened to the machine in a job.
#[derive(Debug, Serialize)]
struct Machine {
    /// Starts after the first.
    starts: usize,
    /// Scans of the run that it did not make.
    left_out: u64,
    /// The scan from which on a board keeps the safe state of its own accord, whatever it is told.
    #[serde(skip_serializing_if = "Option::is_none")]
    on_its_own: Option<u64>,
}

/// What the scans cost the board; instructions only where they were counted.
#[derive(Debug, Default, Serialize)]
struct Costs {
    #[serde(skip_serializing_if = "Option::is_none")]
    instructions_mean: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    instructions_longest: Option<u64>,
    /// Which scan was the longest; of one job only.
    #[serde(skip_serializing_if = "Option::is_none")]
    longest_scan: Option<u64>,
    /// The longest scan with the board's inputs and outputs.
    #[serde(skip_serializing_if = "Option::is_none")]
    instructions_whole: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    stack_bytes: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    station_bytes: Option<u32>,
}

impl Costs {
    fn of(done: &Replayed, counted: bool) -> Self {
        Self {
            instructions_mean: counted.then(|| done.mean()),
            instructions_longest: counted.then_some(done.longest.0),
            longest_scan: counted.then_some(done.longest.1),
            instructions_whole: counted.then_some(done.whole),
            stack_bytes: done.stack,
            station_bytes: done.station,
        }
    }

    /// The mean over all scans, and the worst of the rest.
    fn sum(jobs: &[Line]) -> Self {
        let worst = |of: fn(&Self) -> Option<u64>| jobs.iter().filter_map(|job| of(&job.costs)).max();
        let scans: u64 = jobs.iter().map(|job| job.scans).sum();
        let all = jobs.iter().map(|job| job.costs.instructions_mean.map(|mean| mean * job.scans));
        Self {
            instructions_mean: all.sum::<Option<u64>>().map(|all| all / scans.max(1)),
            instructions_longest: worst(|costs| costs.instructions_longest),
            longest_scan: None,
            instructions_whole: worst(|costs| costs.instructions_whole),
            stack_bytes: jobs.iter().filter_map(|job| job.costs.stack_bytes).max(),
            station_bytes: jobs.iter().filter_map(|job| job.costs.station_bytes).max(),
        }
    }
}

/// The first scan and field in which the two sides part.
#[derive(Debug, Serialize)]
struct Told {
    scan: u64,
    t_s: f64,
    field: String,
    host: String,
    board: String,
}

/// A whole replay.
#[derive(Debug, Serialize)]
pub struct Whole {
    /// How the board was joined.
    board: &'static str,
    jobs: Vec<Line>,
    /// Faults that no job can have.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    refused: Vec<Refused>,
    scans: u64,
    pub identical: bool,
    /// Faults that were planned and never came: their jobs show nothing of them.
    never_came: usize,
    /// Not all were run.
    pub partial: bool,
    #[serde(flatten)]
    costs: Costs,
    wall_seconds: f64,
}

impl Line {
    /// What came of a job.
    pub fn new(name: &str, job: Job, done: Replayed, counted: bool, wall: f64) -> Self {
        let difference = done.difference.as_ref().map(|d| Told {
            scan: d.scan,
            t_s: f64::from(d.at_ms) * 1e-3,
            field: d.field.clone(),
            host: d.host.clone(),
            board: d.board.clone(),
        });
        let tape = &job.recording.tape;
        // A recording that is not the run is no less wrong than a board that is not the host.
        let difference = difference.or_else(|| {
            let scan = job.unlike?;
            let t_s = tape.frames.get(scan as usize).map_or(f64::NAN, |(ms, _)| f64::from(*ms) * 1e-3);
            let (host, board) = ("what it was in the recorded run", "what the recording leads to");
            let field = "what the controller did".to_owned();
            Some(Told { scan, t_s, field, host: host.to_owned(), board: board.to_owned() })
        });
        Self {
            name: name.to_owned(),
            scans: done.scans,
            identical: difference.is_none(),
            difference,
            machine: Machine { starts: tape.starts.len(), left_out: tape.left_out, on_its_own: done.on_its_own },
            costs: Costs::of(&done, counted),
            wall_seconds: wall,
            station: job.station,
            faults: job.faults,
        }
    }

    /// What is to be typed to have it again.
    fn command(&self) -> String {
        let name = if self.name.contains(' ') { format!("\"{}\"", self.name) } else { self.name.clone() };
        format!("valvewright replay {name}")
    }

    /// What broke and what that did to the machine, after a semicolon.
    fn broken(&self) -> String {
        let came = self.faults.iter().map(|one| match one.began_s {
            Some(t_s) => format!("{} from {t_s:.2} s", one.id),
            None => format!("{} NEVER CAME", one.id),
        });
        let mut all: Vec<String> = came.collect();
        let machine = &self.machine;
        match machine.starts {
            0 => {}
            1 => all.push("1 start".to_owned()),
            many => all.push(format!("{many} starts")),
        }
        if machine.left_out > 0 {
            all.push(format!("{} scans not made", machine.left_out));
        }
        if let Some(scan) = machine.on_its_own {
            all.push(format!("the board is safe by itself from scan {scan} on"));
        }
        all.into_iter().map(|one| format!("; {one}")).collect()
    }

    fn never_came(&self) -> usize {
        self.faults.iter().filter(|one| one.began_s.is_none()).count()
    }
}

impl Whole {
    /// All jobs together.
    pub fn new(board: &'static str, jobs: Vec<Line>, refused: Vec<Refused>, partial: bool, wall_seconds: f64) -> Self {
        let scans = jobs.iter().map(|job| job.scans).sum();
        let (identical, costs) = (jobs.iter().all(|job| job.identical), Costs::sum(&jobs));
        let never_came = jobs.iter().map(Line::never_came).sum();
        Self { board, jobs, refused, scans, identical, never_came, partial, costs, wall_seconds }
    }

    /// Every job is the same on either side, and shows what it is for.
    pub const fn holds(&self) -> bool {
        self.identical && self.never_came == 0
    }

    /// For people.
    pub fn words(&self) -> String {
        let mut text = String::new();
        let width = self.jobs.iter().map(|job| job.name.len()).max().unwrap_or(0);
        for job in &self.jobs {
            let verdict = match &job.difference {
                None => "identical".to_owned(),
                Some(d) => format!(
                    "DIFFERS in scan {} (t = {:.3} s): {} is {} on the host and {} on the board\n{:width$}  replay: {}",
                    d.scan,
                    d.t_s,
                    d.field,
                    d.host,
                    d.board,
                    "",
                    job.command()
                ),
            };
            let place = format!("{} scans on {}", job.scans, job.station);
            text += &format!("{:width$}  {place:>26}  {verdict}{}", job.name, job.broken());
            if let (Some(mean), Some(longest), Some(scan)) =
                (job.costs.instructions_mean, job.costs.instructions_longest, job.costs.longest_scan)
            {
                text += &format!("; instructions mean {mean}, longest {longest} in scan {scan}");
            }
            text.push('\n');
        }
        for one in &self.refused {
            text += &format!("{} cannot be injected: {}\n", one.id, one.why);
        }
        text + &self.last_line()
    }

    fn last_line(&self) -> String {
        let differ = self.jobs.iter().filter(|job| !job.identical).count();
        let mut text = format!(
            "{} jobs, {} scans, {} in {:.1} s",
            self.jobs.len(),
            self.scans,
            if differ == 0 {
                format!("all identical on host and board by {}", self.board)
            } else {
                format!("{differ} DIFFER")
            },
            self.wall_seconds
        );
        if let (Some(mean), Some(longest), Some(board)) =
            (self.costs.instructions_mean, self.costs.instructions_longest, self.costs.instructions_whole)
        {
            text +=
                &format!("; instructions of a scan: mean {mean}, longest {longest}, with the board's adapters {board}");
        }
        if let Some(stack) = self.costs.stack_bytes {
            text += &format!("; deepest stack {stack} bytes");
        }
        match self.never_came {
            0 => {}
            1 => text += "; 1 fault never came",
            many => text += &format!("; {many} faults never came"),
        }
        text + if self.partial { "; interrupted, not all were run\n" } else { "\n" }
    }
}
