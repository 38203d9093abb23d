//! Takes the pictures of `docs/pictures`: `cargo xtask pictures` builds the page and runs this.

#[allow(dead_code, reason = "the tests need both engines, one is enough to be photographed")]
mod browsers;
#[allow(dead_code, reason = "the tests let the host go away")]
mod static_host;
#[allow(dead_code, reason = "the tests look closer")]
mod visit;

use std::collections::HashMap;
use std::path::PathBuf;
use std::process::ExitCode;

use lapmargin::link::breakups::USUAL_LAPS;
use serde_json::json;
use visit::Visit;

/// What the page is told of the time of day, and how the pictures' names say it.
const LIGHTS: [(&str, &str); 2] = [("light", "day"), ("dark", "night")];

#[tokio::main]
async fn main() -> ExitCode {
    let Some(visit) = visit::open("#view=desk").await else { return ExitCode::FAILURE };
    visit.send("Emulation.setScrollbarsHidden", json!({ "hidden": true })).await;

    laps_are_counted(&visit, ".verdict").await;
    by_day_and_night(&visit, "planner").await;
    visit.view(390, 844).await;
    by_day_and_night(&visit, "phone").await;
    visit.view(1440, 900).await;
    // Whose hands do not match: a map with something on it.
    visit.click("#verdict-2").await;
    visit.click("#map-switch").await;
    visit.text_when(".map [role='status']", |text| text.contains("complete")).await;
    by_day_and_night(&visit, "map").await;

    open(&visit, "#view=bench").await;
    visit.text_when("#bench-margin", |text| !text.is_empty()).await;
    by_day_and_night(&visit, "bench").await;

    prefer(&visit, "light").await;
    // What lies below the window is not photographed.
    visit.view(900, 1300).await;
    open(&visit, "#view=sheet").await;
    laps_are_counted(&visit, ".sheet-entry").await;
    visit.rests(".sheet-top").await;
    let paper = visit.find(".sheet-paper").await.screenshot_as_png().await.expect("the sheet can be photographed");
    keep("sheet", &paper);
    ExitCode::SUCCESS
}

/// Opens another view; each has a program of its own, which only a new start loads.
async fn open(visit: &Visit, tail: &str) {
    visit.go(tail).await;
    visit.reload().await;
}

/// Waits until every entry says how many laps were simulated for it; nothing comes by itself any more after that.
async fn laps_are_counted(visit: &Visit, entries: &str) {
    let script = format!(
        "const entries = [...document.querySelectorAll({entries})];
        return entries.length > 0 && entries.every(entry => /\\b{USUAL_LAPS} ([a-z]+ )?laps/.test(entry.textContent));",
        entries = json!(entries)
    );
    visit.script_when(&script, |counted| *counted == true).await;
}

/// Takes what is in sight as `{name}-day.png` and `{name}-night.png`.
async fn by_day_and_night(visit: &Visit, name: &str) {
    let from_the_top = "document.activeElement.blur();
        document.querySelectorAll('*').forEach(part => part.scrollTo(0, 0))";
    visit.script(from_the_top).await;
    for (scheme, light) in LIGHTS {
        prefer(visit, scheme).await;
        visit.rests("body").await;
        let picture = visit.driver.screenshot_as_png().await.expect("the page can be photographed");
        keep(&format!("{name}-{light}"), &picture);
    }
}

/// Tells the page how light it is; and that it holds still, so that waves are photographed in the same place each time.
async fn prefer(visit: &Visit, scheme: &str) {
    let features = [("prefers-color-scheme", scheme), ("prefers-reduced-motion", "reduce")];
    let features = features.map(|(name, value)| json!({ "name": name, "value": value }));
    visit.send("Emulation.setEmulatedMedia", json!({ "features": features })).await;
}

/// Keeps a picture, in fewer colours.
#[allow(clippy::print_stdout, reason = "says what was made")]
fn keep(name: &str, picture: &[u8]) {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("docs/pictures");
    std::fs::create_dir_all(&folder).expect("the folder for pictures can be made");
    let (small, worst) = in_few_colours(picture);
    println!("{name}.png: {} kB; no colour is off by more than {worst} of 255", small.len().div_ceil(1000));
    std::fs::write(folder.join(format!("{name}.png")), small).expect("the picture can be written");
}

/// A colour of a picture, how many dots have it, and where it is shown by what: the place in the palette, and how far that is.
struct Colour {
    colour: [u8; 3],
    count: u64,
    nearest: u8,
    squares: u64,
}

/// A picture in 256 colours of its own, every other one shown by the nearest of them, and the largest difference in red, green or blue that
/// this makes.
///
/// The page is drawn in a few flat colours; the rest are the steps between two of them at the edges of letters and lines. So colours are
/// taken one after the other, always the one whose dots, all together, are worst off with those before it.
fn in_few_colours(picture: &[u8]) -> (Vec<u8>, u8) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(picture)).read_info().expect("the browser writes PNG");
    let mut dots = vec![0; reader.output_buffer_size().expect("a screen fits into memory")];
    let info = reader.next_frame(&mut dots).expect("the browser writes whole pictures");
    let dots: Vec<[u8; 3]> = dots.chunks_exact(info.color_type.samples()).map(|dot| [dot[0], dot[1], dot[2]]).collect();
    let mut counts = HashMap::new();
    for colour in &dots {
        *counts.entry(*colour).or_insert(0_u64) += 1;
    }
    let mut colours: Vec<Colour> = counts
        .into_iter()
        .map(|(colour, count)| Colour { colour, count, nearest: 0, squares: u64::MAX >> 32 })
        .collect();
    // The same picture gives the same bytes: of two that are equally badly off, the later in this order is taken.
    colours.sort_by_key(|found| found.colour);
    let mut palette = Vec::new();
    while let Some(worst) =
        colours.iter().filter(|found| found.squares > 0).max_by_key(|found| found.count * found.squares)
        && let Ok(place) = u8::try_from(palette.len())
    {
        let taken = worst.colour;
        palette.push(taken);
        for found in &mut colours {
            let squares = (0..3).map(|part| u64::from(taken[part].abs_diff(found.colour[part])).pow(2)).sum();
            if squares < found.squares {
                (found.nearest, found.squares) = (place, squares);
            }
        }
    }
    let off = |found: &Colour| {
        (0..3).map(|part| palette[usize::from(found.nearest)][part].abs_diff(found.colour[part])).max()
    };
    let worst = colours.iter().filter_map(off).max().unwrap_or_default();
    let places: HashMap<[u8; 3], u8> = colours.iter().map(|found| (found.colour, found.nearest)).collect();
    let indexed: Vec<u8> = dots.iter().map(|dot| places[dot]).collect();

    let mut small = Vec::new();
    let mut encoder = png::Encoder::new(&mut small, info.width, info.height);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(palette.concat());
    encoder.set_compression(png::Compression::High);
    // Numbers of a palette are no amounts; what other filters subtract means nothing.
    encoder.set_filter(png::Filter::NoFilter);
    let mut writer = encoder.write_header().expect("a picture has a size");
    writer.write_image_data(&indexed).expect("as many dots as it says");
    writer.finish().expect("it can be closed");
    (small, worst)
}
