//! The native command: the same core as the page.

mod map_command;

use std::io::{IsTerminal, Read, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};
use lapmargin::link::breakups::{MOST_LAPS, USUAL_LAPS};
use lapmargin::link::map::MapError;
use lapmargin::link::report::{Explanation, Verdict};
use lapmargin::link::{Effort, Evaluator, sheet};
use lapmargin::plan::check::{legible, quoted};
use lapmargin::plan::document::Plan;
use lapmargin::plan::plan_link::{self, PlanLinkError};
use lapmargin::plan::{demo, limits, load};
use lapmargin::site::BounceOrder;

/// Plans the radio side of a small-drone race before anyone flies.
#[derive(Parser)]
#[command(name = "lapmargin", version, about)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Judges every entry of a plan. Exit status: 0 no entry is short, 1 one is, 2 the plan cannot be read or judged, 3 the
    /// output cannot be written.
    Check {
        /// The plan's file, a plan link, or `-` for standard input.
        plan: PathBuf,
        /// Prints the whole report as JSON, every sample with its budget.
        #[arg(long, conflicts_with = "csv")]
        json: bool,
        /// Prints a row per entry, port and sample.
        #[arg(long)]
        csv: bool,
        /// Simulated laps per entry, to count breakups; 0 for none.
        #[arg(long, default_value_t = USUAL_LAPS, value_parser = clap::value_parser!(u32).range(0..=i64::from(MOST_LAPS)))]
        laps: u32,
        #[command(flatten)]
        tracing: Tracing,
    },
    /// Prints the demo plan.
    Demo,
    /// Prints a share link's fragment; append it to the page address.
    Link {
        /// The plan's file, or `-` for standard input.
        plan: PathBuf,
    },
    /// Explains one instant of one entry: its budget and its paths.
    Explain {
        /// The plan's file, a plan link, or `-` for standard input.
        plan: PathBuf,
        /// Name or id of the entry.
        #[arg(long)]
        entry: String,
        /// Time since the first gate, in seconds.
        #[arg(long)]
        time: f64,
        /// Number of the port, from 1; the port in use when left out.
        #[arg(long)]
        port: Option<usize>,
        #[command(flatten)]
        tracing: Tracing,
    },
    /// Maps what an entry's receiver makes of every place of the site, to a table or a picture.
    Map(map_command::Arguments),
}

/// How the paths are found.
#[derive(Args, Clone, Copy)]
struct Tracing {
    /// How often a path may bounce: 0, 1 or 2.
    #[arg(long, default_value_t = Effort::FULL.bounces.most_bounces(), value_parser = clap::value_parser!(u8).range(0..=2))]
    bounces: u8,
}

impl Tracing {
    fn effort(self) -> Effort {
        let order = BounceOrder::ALL.into_iter().find(|order| order.most_bounces() == self.bounces);
        Effort::FULL.with_bounces(order.expect("clap lets only these numbers through"))
    }
}

/// Why the command could not do its job; it goes to standard error, and the exit status is 2, or 3 where the output is at fault.
#[derive(Debug, thiserror::Error)]
enum Failure {
    #[error("{path}: {source}")]
    Read { path: String, source: std::io::Error },
    #[error("{path}: {source}")]
    Plan { path: String, source: load::LoadError },
    #[error("{0}")]
    Link(#[from] PlanLinkError),
    #[error("no entry is called {}; there are {}", quoted(name), legible(known, MOST_QUOTED))]
    Entry { name: String, known: String },
    #[error("a time of {got} s is outside the lap, which takes 0 to {lap:.2} s")]
    Time { got: f64, lap: f64 },
    #[error("there is no port {got}; this receiver has {}", if *count == 1 { "port 1 alone".to_owned() } else { format!("ports 1 to {count}") })]
    Port { got: usize, count: usize },
    #[error("{0}")]
    Unjudged(String),
    #[error("there is no map: {0}")]
    Map(#[from] MapError),
    #[error("a map is written as .csv or .png, and {0} is neither")]
    MapFile(String),
    #[error("{path}: {source}")]
    Save { path: String, source: std::io::Error },
    #[error("writing the report: {0}")]
    Write(#[from] std::io::Error),
    #[error("writing the report: {0}")]
    Json(#[from] serde_json::Error),
}

fn main() -> ExitCode {
    match run(&Arguments::parse()) {
        Ok(code) => code,
        Err(failure) => {
            // What a plan, a name or a path holds does not steer the terminal.
            for line in format!("lapmargin: {failure}").lines() {
                let _ = writeln!(std::io::stderr(), "{}", legible(line, usize::MAX));
            }
            ExitCode::from(if matches!(failure, Failure::Write(_) | Failure::Save { .. }) { 3 } else { 2 })
        }
    }
}

fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    match &arguments.command {
        Command::Demo => {
            print(&load::save(&demo::demo()))?;
            Ok(ExitCode::SUCCESS)
        }
        Command::Link { plan } => {
            print(&format!("#view=desk&plan={}\n", plan_link::write(&read(plan)?)?))?;
            Ok(ExitCode::SUCCESS)
        }
        Command::Check { plan, json, csv, laps, tracing } => check(&read(plan)?, *json, *csv, *laps, tracing.effort()),
        Command::Map(arguments) => {
            print(&map_command::map(arguments)?)?;
            Ok(ExitCode::SUCCESS)
        }
        Command::Explain { plan, entry, time, port, tracing } => {
            explain(&read(plan)?, entry, *time, *port, tracing.effort())?;
            Ok(ExitCode::SUCCESS)
        }
    }
}

/// Reads a plan from a file or a link; never more than a plan may have, whatever the file's size.
fn read(path: &PathBuf) -> Result<Plan, Failure> {
    let shown = path.display().to_string();
    if let Some(value) = plan_link::carried(&shown, "plan") {
        return Ok(plan_link::read(value)?);
    }
    let shown = clean(&shown);
    let at = |source| Failure::Read { path: shown.clone(), source };
    let mut text = String::new();
    let most = limits::TEXT_BYTES as u64 + 1;
    if path.as_os_str() == "-" {
        std::io::stdin().take(most).read_to_string(&mut text).map_err(at)?;
    } else {
        std::fs::File::open(path).map_err(at)?.take(most).read_to_string(&mut text).map_err(at)?;
    }
    load::load(&text).map_err(|source| Failure::Plan { path: shown, source })
}

/// Position of the entry of that name or id.
fn entry_called(plan: &Plan, name: &str) -> Result<usize, Failure> {
    plan.entries.iter().position(|entry| entry.name == name || entry.id == name).ok_or_else(|| {
        let known: Vec<&str> = plan.entries.iter().map(|entry| entry.name.as_str()).collect();
        Failure::Entry { name: name.to_owned(), known: known.join(", ") }
    })
}

fn check(plan: &Plan, json: bool, csv: bool, laps: u32, effort: Effort) -> Result<ExitCode, Failure> {
    let mut evaluator = Evaluator::default();
    let report = evaluator.report(plan, effort);
    if json {
        print(&sheet::json(plan, &mut evaluator, effort, laps)?)?;
    } else if csv {
        print(&sheet::csv(&report))?;
    } else {
        print(&sheet::sheet(plan, &report, &evaluator.breakups(plan, &report, effort, laps)))?;
    }
    let unjudged = report.notices.iter().find(|notice| notice.blocks);
    if let Some(notice) = unjudged {
        return Err(Failure::Unjudged(format!("{}: {}", notice.path, notice.text)));
    }
    let short = report.entries.iter().any(|entry| entry.verdict == Verdict::Short);
    Ok(if short { ExitCode::from(1) } else { ExitCode::SUCCESS })
}

fn explain(plan: &Plan, name: &str, time: f64, port: Option<usize>, effort: Effort) -> Result<(), Failure> {
    let entry = entry_called(plan, name)?;
    let mut evaluator = Evaluator::default();
    let report = evaluator.report(plan, effort);
    let lap = &report.lap;
    if !(0.0..=lap.duration_s).contains(&time) {
        return Err(Failure::Time { got: time, lap: lap.duration_s });
    }
    let judged = report.entries.iter().find(|judged| judged.index == entry).ok_or_else(|| {
        let why: Vec<String> = report
            .notices
            .iter()
            .filter(|notice| notice.blocks)
            .map(|notice| format!("{}: {}", notice.path, notice.text))
            .collect();
        Failure::Unjudged(why.join("; "))
    })?;
    let nearest = |a: &usize, b: &usize| (lap.time_s[*a] - time).abs().total_cmp(&(lap.time_s[*b] - time).abs());
    let sample = (0..lap.time_s.len()).min_by(nearest).unwrap_or(0);
    let count = judged.ports.len();
    let port = match port {
        None => usize::from(judged.together.port[sample]),
        Some(got) => got.checked_sub(1).filter(|port| *port < count).ok_or(Failure::Port { got, count })?,
    };
    let explanation =
        evaluator.explain(plan, entry, port, sample, effort).map_err(|error| Failure::Unjudged(error.to_string()))?;
    print(&instant(&explanation, &judged.name, lap.time_s[sample], lap.distance_m[sample]))
}

/// So many letters of a text that somebody else wrote stand in a message.
const MOST_QUOTED: usize = 200;

/// A text from a plan or a path with what would end a line or steer a terminal made visible.
fn clean(text: &str) -> String {
    legible(text, MOST_QUOTED)
}

fn instant(explanation: &Explanation, name: &str, time: f64, distance: f64) -> String {
    use std::fmt::Write as _;
    let mut text = String::new();
    // Writing to a String cannot fail.
    let _ =
        writeln!(text, "{} at {time:.2} s, {distance:.1} m along the lap, port {}", clean(name), explanation.port + 1);
    let _ = writeln!(text, "\nBudget");
    let mut level = 0.0;
    for line in &explanation.budget {
        level += line.gain_db;
        let _ = writeln!(
            text,
            "  {:<36} {:+8.2} dB  {level:8.2}   {}",
            line.term.name(),
            line.gain_db,
            clean(&line.reason)
        );
    }
    let _ = writeln!(
        text,
        "\nLevel {:.1} dBm, margin {:+.1} dB, K {:.1} dB, outage {:.2e}",
        explanation.level_dbm, explanation.margin_db, explanation.k_db, explanation.outage
    );
    let _ = writeln!(text, "\nPaths, strongest first");
    for path in &explanation.paths {
        let via =
            if path.via.is_empty() { "direct".to_owned() } else { format!("off {}", clean(&path.via.join(", "))) };
        let hand = path.hand.map_or("linear", |hand| hand.name());
        let by = path.obstructed_by.as_deref().map(|name| format!(", {} near", clean(name))).unwrap_or_default();
        let _ = writeln!(
            text,
            "  {via:<28} {:7.2} m  {:8.2} dBm  obstruction {:5.2} dB  arrives {hand}, axial ratio {:.1} dB{by}",
            path.length_m, path.level_dbm, path.obstruction_db, path.axial_ratio_db
        );
    }
    text
}

fn print(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    let mut write = || {
        out.write_all(text.as_bytes())?;
        if out.is_terminal() && !text.ends_with('\n') {
            out.write_all(b"\n")?;
        }
        out.flush()
    };
    match write() {
        // Whoever reads has read enough; what the command found out stays what it is.
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        written => Ok(written?),
    }
}
