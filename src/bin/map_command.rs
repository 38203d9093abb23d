//! `lapmargin map`: a map of the site as a table or a picture, by the ending of the file's name.

mod letters;
mod picture;

use std::fmt::Write as _;
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use lapmargin::link::Evaluator;
use lapmargin::link::map::{
    CELLS, Map, MapHand, MapRequest, Quantity, USUAL_CELLS, class_words, limits, summary, value_text,
};
use lapmargin::link::sheet::quoted;
use lapmargin::plan::document::Plan;
use lapmargin::rf::polarization::Hand;
use lapmargin::units::Metres;

use super::{Failure, Tracing, clean, entry_called, read};

/// Cells between two looks at whether all is done; any number gives the same map.
const STEP: usize = 4096;

/// What to map, and where to.
#[derive(Args)]
pub struct Arguments {
    /// The plan's file, a plan link, or `-` for standard input.
    plan: PathBuf,
    /// Name or id of the entry, whose receiver hears.
    #[arg(long)]
    entry: String,
    /// The file to write: a table (.csv) or a picture (.png).
    #[arg(long)]
    out: PathBuf,
    /// What to show.
    #[arg(long, value_enum, default_value_t = Shown::Reserve)]
    quantity: Shown,
    /// Height of the hovering aircraft above ground, in metres; the mean of the gates' when left out.
    #[arg(long)]
    height: Option<f64>,
    /// The antenna on the aircraft; not for `hand`, which compares both.
    #[arg(long, value_enum, default_value_t = OnAircraft::Stated)]
    hand: OnAircraft,
    /// About how many cells.
    #[arg(long, default_value_t = USUAL_CELLS, help = format!("About how many cells, {} to {}", CELLS.start(), CELLS.end()))]
    cells: usize,
    #[command(flatten)]
    tracing: Tracing,
}

/// A quantity as it is typed.
#[derive(Clone, Copy, ValueEnum)]
enum Shown {
    /// How many dB are to spare at each point.
    Reserve,
    /// Mean level over the threshold, dB.
    Margin,
    /// Probability that fading takes the picture, 0 to 1.
    Outage,
    /// How much the hand matters: margin with the matched hand less margin with the crossed one, dB.
    Hand,
}

/// A hand as it is typed.
#[derive(Clone, Copy, ValueEnum)]
enum OnAircraft {
    /// The entry's own; of an unknown hand the worse at every place.
    Stated,
    /// Turned to right-hand circular.
    Right,
    /// Turned to left-hand circular.
    Left,
    /// Linear.
    Linear,
}

/// What a table or picture says about itself.
struct Caption {
    plan: String,
    entry: String,
    quantity: &'static str,
    column: &'static str,
    height: Metres,
    hand: &'static str,
    bounces: u8,
}

/// Computes and writes a map; returns what it shows in some lines.
pub fn map(arguments: &Arguments) -> Result<String, Failure> {
    let ending = arguments.out.extension().and_then(|ending| ending.to_str()).unwrap_or_default().to_lowercase();
    let path = clean(&arguments.out.display().to_string());
    if !matches!(ending.as_str(), "csv" | "png") {
        return Err(Failure::MapFile(path));
    }
    let plan = read(&arguments.plan)?;
    let usual = MapRequest::usual(&plan, entry_called(&plan, &arguments.entry)?);
    let request = MapRequest {
        quantity: match arguments.quantity {
            Shown::Reserve => Quantity::Reserve,
            Shown::Margin => Quantity::Margin,
            Shown::Outage => Quantity::Outage,
            Shown::Hand => Quantity::HandMatters,
        },
        hand: match arguments.hand {
            OnAircraft::Stated => MapHand::AsStated,
            OnAircraft::Right => MapHand::Turned(Some(Hand::Right)),
            OnAircraft::Left => MapHand::Turned(Some(Hand::Left)),
            OnAircraft::Linear => MapHand::Turned(None),
        },
        height: arguments.height.map_or(usual.height, Metres),
        cells: arguments.cells,
        bounces: arguments.tracing.effort().bounces,
        ..usual
    };
    let mut map = Evaluator::default().map(&plan, &request)?;
    while map.step(STEP).is_pending() {}
    let caption = caption(&plan, &request);
    let bytes = match ending.as_str() {
        "csv" => table(&map, &caption).into_bytes(),
        _ => picture::png(&map, &request, &caption),
    };
    std::fs::write(&arguments.out, bytes).map_err(|source| Failure::Save { path: path.clone(), source })?;
    Ok(in_words(&map, &request, &caption, &path))
}

fn caption(plan: &Plan, request: &MapRequest) -> Caption {
    let (quantity, column) = match request.quantity {
        Quantity::Reserve => ("reserve of a place", "reserve_db"),
        Quantity::Margin => ("margin", "margin_db"),
        Quantity::Outage => ("outage", "outage"),
        Quantity::HandMatters => ("matched less crossed hand", "hand_matters_db"),
    };
    let hand = match (request.quantity, request.hand) {
        (Quantity::HandMatters, _) => "both hands",
        (_, MapHand::AsStated) => "hand as stated",
        (_, MapHand::Turned(Some(Hand::Right))) => "right hand",
        (_, MapHand::Turned(Some(Hand::Left))) => "left hand",
        (_, MapHand::Turned(None)) => "linear",
    };
    Caption {
        plan: clean(&plan.name),
        entry: clean(&plan.entries[request.entry].name),
        quantity,
        column,
        height: request.height,
        hand,
        bounces: request.bounces.most_bounces(),
    }
}

/// One row per cell: its middle and its number, which is empty where there is none.
fn table(map: &Map, caption: &Caption) -> String {
    let Caption { plan, entry, quantity, column, height, hand, bounces } = caption;
    let grid = map.grid();
    let mut text = String::new();
    let about = [
        format!("# plan: {plan}"),
        format!(
            "# entry: {entry}; the aircraft hovers level with its nose to the north; other pilots' transmitters not counted"
        ),
        format!("# height above ground: {height}; antenna on the aircraft: {hand}; most bounces: {bounces}"),
        format!("# quantity: {quantity}; empty inside buildings and on the receiving antenna"),
        format!(
            "# cells: {} from west to east by {} from south to north; places in metres from the south-west corner",
            grid.columns, grid.rows
        ),
    ];
    // One field each, whatever a name holds. Writing to a String cannot fail.
    for line in about {
        let _ = writeln!(text, "{}", quoted(&line));
    }
    let _ = writeln!(text, "east_m,north_m,{column}");
    for (cell, value) in map.values().iter().enumerate() {
        let (east, north) = grid.centre(cell);
        // Centimetres and hundredths of a decibel: no digits that nobody can mean.
        let _ = match value {
            Some(value) if *column == "outage" => writeln!(text, "{east:.2},{north:.2},{value:.3e}"),
            Some(value) => writeln!(text, "{east:.2},{north:.2},{value:.2}"),
            None => writeln!(text, "{east:.2},{north:.2},"),
        };
    }
    text
}

fn in_words(map: &Map, request: &MapRequest, caption: &Caption, path: &str) -> String {
    let quantity = request.quantity;
    let limits = limits(quantity, map.goal());
    let Caption { entry, quantity: name, height, hand, .. } = caption;
    let mut text = format!("{entry}, {name} at {height}, {hand}: ");
    match summary(quantity, &limits, map.values()) {
        Some(summary) => {
            let [least, median, most] =
                [summary.least, summary.median, summary.most].map(|value| value_text(quantity, value));
            let _ = writeln!(text, "{least} to {most}, median {median}");
            for (words, share) in class_words(quantity, &limits).iter().zip(summary.shares) {
                let _ = writeln!(text, "  {words:<20} {:5.1} % of the area", 100.0 * share);
            }
        }
        None => text.push_str("no cell has a value\n"),
    }
    let _ = writeln!(text, "written to {}", clean(path));
    text
}
