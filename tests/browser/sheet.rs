//! The sheet to print: what stands on it, that it is one page with letters of 9 points, and what is saved from it.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use lapmargin::link::breakups::USUAL_LAPS;
use lapmargin::link::{Effort, Evaluator, sheet};
use lapmargin::plan::channels::BANDS;
use lapmargin::plan::document::Plan;
use lapmargin::plan::fresh::{self, NewSite};
use lapmargin::plan::{self, plan_link};
use lapmargin::rf::fading::Surroundings;
use lapmargin::rf::material::Material;
use lapmargin_page::address;
use lapmargin_page::format::DisplayUnits;
use lapmargin_page::sheet::card::{PilotCard, Stamp};
use lapmargin_page::sheet::content::{Content, LapWords};
use lapmargin_page::sheet::table;
use serde_json::json;
use thirtyfour::prelude::*;

use crate::static_host;
use crate::visit::{self, Visit};

/// What an address carries to show the sheet of a plan.
pub fn tail(plan: &Plan) -> String {
    format!("#view=sheet&plan={}", plan_link::write(plan).expect("the plan fits into a link"))
}

/// The demo plan with a second row of pilots.
pub fn eight() -> Plan {
    let mut plan = plan::demo();
    "Eight at the harvest fair".clone_into(&mut plan.name);
    for index in 0..4 {
        let mut seat = plan.seats[index].clone();
        (seat.id, seat.name, seat.x_m) =
            (format!("second-{index}"), format!("Second row, chair {}", index + 1), seat.x_m + 14.0);
        let mut receiver = plan.receivers[index].clone();
        (receiver.id, receiver.seat) = (format!("second-goggles-{index}"), seat.id.clone());
        let mut entry = plan.entries[index].clone();
        (entry.id, entry.receiver) = (format!("second-entry-{index}"), receiver.id.clone());
        entry.name = ["Heron", "Yarrow", "Cricket", "Sorrel"][index].to_owned();
        entry.channel_hz += 15e6;
        plan.seats.push(seat);
        plan.receivers.push(receiver);
        plan.entries.push(entry);
    }
    plan
}

/// Eight entries of a new yard, of whose kit nothing is known: a plan whose link is short.
fn eight_beginners() -> Plan {
    let site = NewSite {
        name: "Behind the barn".to_owned(),
        width_m: 40.0,
        depth_m: 25.0,
        surroundings: Surroundings::Village,
        ground: Material::MediumDryGround,
    };
    let mut plan = fresh::plan(&site).expect("the site is in range");
    for number in 2..=8 {
        let mut seat = plan.seats[0].clone();
        (seat.id, seat.name) = (format!("seat-{number}"), format!("Seat {number}"));
        seat.x_m += f64::from(number) * 1.5 - 6.0;
        let mut receiver = plan.receivers[0].clone();
        (receiver.id, receiver.seat) = (format!("goggles-{number}"), seat.id.clone());
        let mut entry = plan.entries[0].clone();
        (entry.id, entry.name) = (format!("entry-{number}"), format!("Entry {number}"));
        entry.receiver.clone_from(&receiver.id);
        entry.channel_hz = BANDS[0].megahertz.map(|carrier| f64::from(carrier) * 1e6)[number as usize - 1];
        plan.seats.push(seat);
        plan.receivers.push(receiver);
        plan.entries.push(entry);
    }
    plan
}

/// Waits until everything is on the sheet, laps in time too, and the drawing has found its size.
pub async fn complete(visit: &Visit) {
    let done = "return document.querySelector('.sheet-entry') !== null
        && !document.querySelector('#sheet-said').textContent.includes('being')
        && !document.querySelector('.sheet-paper').textContent.includes('imulating laps')";
    visit.script_when(done, |done| *done == true).await;
    // The drawing has found its height when what stands about it rests.
    visit.rests(".sheet-top").await;
}

async fn choose_paper(visit: &Visit, name: &str) {
    visit.click_on(By::XPath(format!("//select[@id='paper']/option[.='{name}']"))).await;
    let class = format!("is-{}", name.to_lowercase());
    visit.text_when(&format!(".sheet-paper.{class}"), |text| !text.is_empty()).await;
    // The drawing has found its height when what stands about it rests.
    visit.rests(".sheet-top").await;
}

/// The texts of all elements that match.
async fn texts(visit: &Visit, css: &str) -> Vec<String> {
    let script_text = format!("return Array.from(document.querySelectorAll('{css}'), part => part.textContent.trim())");
    serde_json::from_value(visit.script(&script_text).await).expect("a list of texts")
}

#[tokio::test]
async fn a_plan_link_shows_the_cores_verdicts() {
    let plan = eight();
    let Some(visit) = visit::open(&tail(&plan)).await else { return };
    complete(&visit).await;
    let mut evaluator = Evaluator::default();
    let report = evaluator.report(&plan, Effort::FULL);
    let content = Content::of(&plan, &report, DisplayUnits::default());
    let flown = evaluator.breakups(&plan, &report, Effort::FULL, USUAL_LAPS);
    let verdicts: Vec<&str> = report.entries.iter().map(|entry| entry.verdict.word()).collect();
    assert_eq!(texts(&visit, ".sheet-verdict").await, verdicts);
    let figures = texts(&visit, ".sheet-figures").await;
    let expected: Vec<String> = content
        .entries
        .iter()
        .zip(report.entries.iter().zip(&flown))
        // With so many entries the interval stays away.
        .map(|(entry, (judged, flown))| format!("{}, {}", entry.figures, LapWords::of(&plan, judged, flown).brief))
        .collect();
    assert_eq!(figures, expected);
    assert_eq!(texts(&visit, "#plan-mark").await, [content.mark.as_str()]);
    for (words, entry) in texts(&visit, ".sheet-entry").await.iter().zip(&content.entries) {
        for part in [&entry.air, &entry.radiated, &entry.aircraft, &entry.seat, &entry.worst, &entry.check] {
            assert!(words.contains(part.as_str()), "{part:?} is missing in {words:?}");
        }
        for reading in &entry.readings {
            assert!(words.contains(&reading.expected), "{words:?}");
        }
    }
    let boxes = content.entries.iter().map(|entry| entry.readings.len()).sum::<usize>();
    assert_eq!(visit.count(".sheet-box").await, boxes as u64);

    assert_eq!(visit.console_errors().await, [""; 0]);
    let requests = visit.requests().await;
    assert_eq!(visit.foreign(&requests), [""; 0]);
    let planner = requests.iter().filter(|address| address.contains("/lapmargin-page-")).count();
    assert_eq!(planner, 0, "the sheet comes without the planner: {requests:#?}");
}

/// The bytes behind a text in base64 (RFC 4648, section 4).
fn from_base64(text: &str) -> Vec<u8> {
    let digit = |letter: u8| match letter {
        b'A'..=b'Z' => letter - b'A',
        b'a'..=b'z' => letter - b'a' + 26,
        b'0'..=b'9' => letter - b'0' + 52,
        b'+' => 62,
        b'/' => 63,
        other => panic!("{other} is no letter of base64"),
    };
    let mut bytes = Vec::new();
    for group in text.trim_end_matches('=').as_bytes().chunks(4) {
        let bits =
            group.iter().fold(0_u32, |bits, letter| bits << 6 | u32::from(digit(*letter))) << (6 * (4 - group.len()));
        bytes.extend(&bits.to_be_bytes()[1..group.len()]);
    }
    bytes
}

async fn printed(visit: &Visit) -> Vec<u8> {
    let print = json!({"preferCSSPageSize": true, "printBackground": false});
    let answer = visit.send("Page.printToPDF", print).await;
    from_base64(answer["data"].as_str().expect("the browser prints"))
}

/// The media boxes of a PDF's pages in points; the browser writes page objects in the clear.
fn pages(pdf: &[u8]) -> Vec<Vec<f64>> {
    let text = String::from_utf8_lossy(pdf);
    let of_page = |object: &str| {
        let sides = object.split("/MediaBox [").nth(1)?.split(']').next()?;
        Some(sides.split_whitespace().map(|side| side.parse().expect("a number")).collect())
    };
    let objects =
        text.split("endobj").filter(|object| object.contains("/Type /Page\n") || object.contains("/Type /Page "));
    objects.map(|object| of_page(object).expect("a page has a media box")).collect()
}

#[tokio::test]
async fn four_and_eight_entries_take_one_page_of_either_paper_with_their_codes() {
    let Some(visit) = visit::open("#view=sheet").await else { return };
    for (plan, name) in [(plan::demo(), "four"), (eight(), "eight"), (eight_beginners(), "eight-beginners")] {
        visit.go("").await;
        visit.go(&tail(&plan)).await;
        complete(&visit).await;
        // ISO 216 and 8.5 by 11 inches, in points of 1/72 inch.
        for (paper, sides) in [("A4", [595.3, 841.9]), ("Letter", [612.0, 792.0])] {
            choose_paper(&visit, paper).await;
            let pdf = printed(&visit).await;
            let file = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("sheet-{name}-{paper}.pdf"));
            std::fs::write(file, &pdf).expect("a file can be written");
            let pages = pages(&pdf);
            assert_eq!(pages.len(), 1, "{name}, {paper}: {pages:?}");
            for axis in 0..2 {
                assert!((pages[0][axis + 2] - sides[axis]).abs() < 1.5, "{name}, {paper}: {pages:?}");
            }
            let said = texts(&visit, "#sheet-said").await;
            assert_eq!(said, [""], "{name}, {paper}");
            let drawing = visit.script("return document.querySelector('.sheet-top > svg').height.baseVal.value").await;
            assert!(drawing.as_f64().is_some_and(|height| height >= 180.0), "{name}, {paper}: {drawing}");
            // In pixels, of which 96 make 25.4 mm: modules of 0.4 mm, and no letters or lines on what is theirs.
            let codes = visit.script("const boxes = Array.from(document.querySelectorAll('.sheet-code'), code => code.getBoundingClientRect());
                const modules = Array.from(document.querySelectorAll('.sheet-code'), (code, index) => boxes[index].width / code.viewBox.baseVal.width);
                const others = Array.from(document.querySelectorAll('.sheet-paper h3 > *, .sheet-box, .sheet-level, .sheet-paper p, .sheet-paper li > span, figcaption'))
                    .flatMap(part => Array.from(part.getClientRects()));
                const hidden = boxes.filter((box, index) => others.concat(boxes.slice(0, index)).some(other =>
                    other.left < box.right - 0.5 && other.right > box.left + 0.5 && other.top < box.bottom - 0.5 && other.bottom > box.top + 0.5));
                return [modules.length, Math.min(...modules), hidden.length]",
            )
            .await;
            let links = if plan.name == "Behind the barn" { 1 } else { 0 };
            assert_eq!(codes[0].as_u64(), Some(plan.entries.len() as u64 + links), "{name}, {paper}");
            assert!(
                codes[1].as_f64().is_some_and(|module| module > 0.4 * 96.0 / 25.4 - 0.002),
                "{name}, {paper}: {codes}"
            );
            assert_eq!(codes[2], json!(0), "{name}, {paper}");
        }
        visit.shot(&format!("sheet-{name}")).await;
    }
}

#[tokio::test]
async fn nothing_printed_is_smaller_than_nine_points_or_neither_black_nor_white() {
    let Some(visit) = visit::open(&tail(&eight())).await else { return };
    complete(&visit).await;
    for scheme in ["light", "dark"] {
        let media = json!({"media": "print", "features": [{"name": "prefers-color-scheme", "value": scheme}]});
        visit.send("Emulation.setEmulatedMedia", media).await;
        let found = visit.script("const small = [], inked = [];
            let letters = 0;
            for (const part of document.querySelectorAll('body *')) {
                const own = Array.from(part.childNodes).some(node => node.nodeType === 3 && node.textContent.trim() !== '');
                if (!part.checkVisibility() || ['TITLE', 'title', 'SCRIPT', 'NOSCRIPT'].includes(part.tagName)) continue;
                const style = getComputedStyle(part);
                if (own) {
                    letters += 1;
                    if (parseFloat(style.fontSize) < 12) small.push(part.outerHTML.slice(0, 80));
                    const ink = part instanceof SVGElement ? style.fill : style.color;
                    if (ink !== 'rgb(0, 0, 0)') inked.push(ink + ' ' + part.outerHTML.slice(0, 80));
                }
                if (part instanceof SVGElement && !['none', 'rgb(0, 0, 0)', 'rgb(255, 255, 255)'].includes(style.stroke))
                    inked.push(style.stroke + ' ' + part.outerHTML.slice(0, 80));
            }
            return [letters, small, inked, document.querySelector('.sheet-tools').checkVisibility()];",
        )
        .await;
        assert!(found[0].as_u64().is_some_and(|letters| letters > 60), "{found}");
        assert_eq!((&found[1], &found[2], &found[3]), (&json!([]), &json!([]), &json!(false)), "{scheme}");
    }
}

/// What is read in a picture of each element that matches, by a reader that has nothing in common with the page.
async fn scanned(visit: &Visit, css: &str) -> Vec<String> {
    let places = format!(
        "return Array.from(document.querySelectorAll('{css}'), code => code.getBoundingClientRect())
            .map(box => [box.x + scrollX, box.y + scrollY, box.width, box.height])"
    );
    let places: Vec<[f64; 4]> = serde_json::from_value(visit.script(&places).await).expect("four numbers each");
    let mut said = Vec::new();
    for [x, y, width, height] in places {
        // So many dots to a pixel that a module has at least four.
        let clip = json!({"x": x, "y": y, "width": width, "height": height, "scale": 3});
        let answer = visit.send("Page.captureScreenshot", json!({"clip": clip, "captureBeyondViewport": true})).await;
        let file = from_base64(answer["data"].as_str().expect("a code can be photographed"));
        let mut reader = png::Decoder::new(std::io::Cursor::new(file)).read_info().expect("it is a PNG");
        let mut dots = vec![0; reader.output_buffer_size().expect("it is small")];
        let shape = reader.next_frame(&mut dots).expect("it holds a picture");
        let (width, height) = (shape.width as usize, shape.height as usize);
        let samples = shape.color_type.samples();
        // All samples of a grey are alike, and these are black and white.
        let mut picture = rqrr::PreparedImage::prepare_from_greyscale(width, height, |column, row| {
            dots[row * shape.line_size + column * samples]
        });
        let grids = picture.detect_grids();
        assert_eq!(grids.len(), 1, "one code is found in a picture of {width} by {height}");
        said.push(grids[0].decode().expect("the code can be read").1);
    }
    said
}

#[tokio::test]
async fn codes_carry_the_cards_and_the_link_in_every_theme() {
    let mut plan = eight_beginners();
    plan.entries[0].name = "<b>Ærø</b> & \"sons\", a name too long for a card".to_owned();
    plan.entries[1].name = "https://races.example/".to_owned();
    let Some(visit) = visit::open(&tail(&plan)).await else { return };
    complete(&visit).await;
    let report = Evaluator::default().report(&plan, Effort::FULL);
    let mark = Content::of(&plan, &report, DisplayUnits::default()).mark;
    let date = texts(&visit, ".sheet-date").await[0].rsplit(' ').next().unwrap_or_default().to_owned();
    assert!(date.len() == 10 && date.split('-').count() == 3, "{date}");
    let stamp = Stamp { mark: &mark, date: &date };
    let cards: Vec<PilotCard> = (0..8)
        .map(|index| PilotCard::of(&plan, index, Some(&report.entries[index]), stamp, DisplayUnits::default()))
        .collect();
    let expected: Vec<&str> = cards.iter().map(|card| card.text.as_str()).collect();
    let base = format!("{}{}", visit.origin, static_host::FOLDER);
    let link = address::with_plan(&base, &plan_link::write(&plan).unwrap());
    assert!(link.len() <= address::CODE_CHARACTERS, "{}", link.len());
    for (theme, scheme) in [("light", "light"), ("dark", "dark"), ("sun", "light")] {
        visit.prefer("prefers-color-scheme", scheme).await;
        visit.script(&format!("document.documentElement.dataset.theme = '{theme}'")).await;
        assert_eq!(scanned(&visit, ".sheet-entry .sheet-code").await, expected, "{theme}");
        assert_eq!(scanned(&visit, ".sheet-link .sheet-code").await, [link.as_str()], "{theme}");
    }
    // The same is there as text: as the pictures' names, and in full for everybody.
    let names = visit.script("return Array.from(document.querySelectorAll('.sheet-entry .sheet-code'), code => code.role + ': ' + code.getAttribute('aria-label'))").await;
    for (name, card) in names.as_array().expect("a list").iter().zip(&cards) {
        assert_eq!(name, &json!(format!("img: {}", card.spoken())));
    }
    visit.driver.find(By::Css("#codes summary")).await.unwrap().send_keys(Key::Enter).await.unwrap();
    visit.text_when("#code-link", |text| text == link).await;
    let said = texts(&visit, "#codes pre").await;
    assert_eq!(said, expected.iter().map(|text| text.trim()).collect::<Vec<_>>());
    assert_eq!(texts(&visit, "#codes li p").await.len(), 1, "one card is shortened, and it is said");
    assert_eq!(visit.console_errors().await, [""; 0]);
    visit.shot("sheet-codes").await;
}

#[tokio::test]
async fn a_long_link_is_no_code_and_the_planner_says_which_links_are() {
    let Some(visit) = visit::open(&tail(&plan::demo())).await else { return };
    complete(&visit).await;
    assert_eq!(visit.script("return document.querySelectorAll('.sheet-link').length").await, json!(0));
    let characters = |plan: &Plan| {
        let base = format!("{}{}", visit.origin, static_host::FOLDER);
        address::with_plan(&base, &plan_link::write(plan).unwrap()).len()
    };
    let said = texts(&visit, "#codes > p").await;
    assert!(said[0].starts_with(&format!("The plan link has {} characters, ", characters(&plan::demo()))), "{said:?}");
    for (plan, words) in [(plan::demo(), "too long for a QR code"), (eight_beginners(), "Print and export has it")] {
        visit.go("").await;
        visit.go(&format!("#view=desk&plan={}", plan_link::write(&plan).unwrap())).await;
        visit.text_when("#plans-summary", |text| !text.is_empty()).await;
        visit.click("#plans-summary").await;
        let count = format!("Plan link, {} characters", characters(&plan));
        visit.text_when("#plans", |text| text.contains(&count) && text.contains(words)).await;
    }
    assert_eq!(visit.console_errors().await, [""; 0]);
}

/// Lets the browser save into an empty folder of the test's own.
async fn saves_into(visit: &Visit, name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a folder can be made");
    let into = json!({"behavior": "allow", "downloadPath": folder.to_string_lossy()});
    visit.send("Browser.setDownloadBehavior", into).await;
    folder
}

/// Presses a button and waits for the file that it saves.
async fn saved(visit: &Visit, button: &str, file: &Path) -> Vec<u8> {
    visit.click(&format!("#{button}")).await;
    let start = Instant::now();
    while start.elapsed() < Duration::from_secs(20) {
        // A browser renames a file when it is complete.
        if let Ok(bytes) = std::fs::read(file)
            && !bytes.is_empty()
        {
            return bytes;
        }
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    panic!(
        "{} was not saved: {:?}, {:?}",
        file.display(),
        texts(visit, ".problem").await,
        visit.console_errors().await
    );
}

#[tokio::test]
async fn files_are_what_they_are_called() {
    let plan = plan::demo();
    let Some(visit) = visit::open(&tail(&plan)).await else { return };
    complete(&visit).await;
    let folder = saves_into(&visit, "sheet-files").await;
    let stem = "harvest-fair-in-the-pear-yard";

    let svg = saved(&visit, "save-svg", &folder.join(format!("{stem}.course.svg"))).await;
    let svg = String::from_utf8(svg).expect("it is text");
    // Read by a reader of XML, and without anything that runs or comes from elsewhere.
    let read = format!(
        "const read = new DOMParser().parseFromString({}, 'image/svg+xml');
        return [read.querySelector('parsererror')?.textContent ?? '', read.documentElement.namespaceURI, read.querySelectorAll('text').length,
            read.querySelectorAll('script, style, foreignObject, image, a').length,
            Array.from(read.querySelectorAll('*')).filter(part => part.getAttribute('class') || part.getAttribute('style')).length]",
        json!(svg)
    );
    let read = visit.script(&read).await;
    assert_eq!((&read[0], &read[1]), (&json!(""), &json!("http://www.w3.org/2000/svg")));
    assert!(read[2].as_u64().is_some_and(|texts| texts > 20), "{read}");
    assert_eq!((&read[3], &read[4]), (&json!(0), &json!(0)), "{read}");

    let png = saved(&visit, "save-png", &folder.join(format!("{stem}.course.png"))).await;
    assert_eq!(&png[..8], b"\x89PNG\r\n\x1a\n");
    let side = |from: usize| u32::from_be_bytes(png[from..from + 4].try_into().expect("four bytes"));
    let width: f64 = svg.split("width=\"").nth(1).and_then(|rest| rest.split('"').next()).unwrap().parse().unwrap();
    assert_eq!(f64::from(side(16)), 2.0 * width, "twice as many pixels as the drawing has");
    assert!(png.len() > 20_000, "something is drawn on it: {} bytes", png.len());

    let report = Evaluator::default().report(&plan, Effort::FULL);
    visit.click_on(By::XPath("//select[@id='csv-entry']/option[.='Moth']")).await;
    let csv = saved(&visit, "save-csv", &folder.join(format!("moth-{stem}.lap.csv"))).await;
    assert_eq!(String::from_utf8(csv).expect("it is text"), table::csv(&report.lap, &report.entries[2]));

    let json = saved(&visit, "save-report", &folder.join(format!("{stem}.report.json"))).await;
    let expected = sheet::json(&plan, &mut Evaluator::default(), Effort::FULL, USUAL_LAPS).expect("it can be written");
    assert!(json == expected.as_bytes(), "to the last bit; {} and {} bytes differ", json.len(), expected.len());
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn hostile_names_stay_text_on_paper_and_in_files() {
    let mut plan = plan::demo();
    let hostile = "<script>document.title='run'</script>\"><svg onload=\"document.title='run'\">";
    plan.entries[0].name = hostile.to_owned();
    plan.course.gates[0].name = hostile.to_owned();
    plan.seats[0].name = hostile.to_owned();
    for obstacle in &mut plan.site.obstacles {
        obstacle.name = hostile.to_owned();
    }
    let Some(visit) = visit::open(&tail(&plan)).await else { return };
    complete(&visit).await;
    assert_eq!(texts(&visit, ".sheet-name").await[0], hostile);
    let folder = saves_into(&visit, "sheet-hostile").await;
    let svg = saved(&visit, "save-svg", &folder.join("harvest-fair-in-the-pear-yard.course.svg")).await;
    let svg = String::from_utf8(svg).expect("it is text");
    let read = format!(
        "const read = new DOMParser().parseFromString({}, 'image/svg+xml');
        const all = Array.from(read.querySelectorAll('*')).concat(Array.from(document.querySelectorAll('.sheet-paper *')));
        return [read.querySelector('parsererror')?.textContent ?? '', read.querySelectorAll('svg').length,
            all.filter(part => part.tagName.toLowerCase() === 'script' || part.hasAttribute('onload')).length,
            Array.from(read.querySelectorAll('title')).some(title => title.textContent === {}), document.title === 'run']",
        json!(svg),
        json!(hostile)
    );
    assert_eq!(visit.script(&read).await, json!(["", 1, 0, true, false]));
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn the_planner_hands_its_plan_to_a_sheet_beside_it() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    let desk = visit.driver.window().await.unwrap();
    visit.type_over("#plan-name", "Taken along").await;
    visit.press("#plan-name", Key::Enter).await;
    visit.script_when("return document.getElementById('undo').disabled", |disabled| *disabled == false).await;
    visit.press("#sheet-link", Key::Enter).await;
    let start = Instant::now();
    let beside = loop {
        let windows = visit.driver.windows().await.unwrap();
        if let Some(beside) = windows.into_iter().find(|window| *window != desk) {
            break beside;
        }
        assert!(start.elapsed() < Duration::from_secs(20), "no sheet opened");
        tokio::time::sleep(Duration::from_millis(20)).await;
    };
    // The desk is as it was, with its step of undo.
    assert_eq!(
        visit.script("return [location.hash, document.getElementById('undo').disabled]").await,
        json!(["", false])
    );
    visit.driver.switch_to_window(beside).await.unwrap();
    visit.text_when(".sheet-head h2", |text| text == "Taken along").await;
    assert!(visit.driver.current_url().await.unwrap().fragment().is_some_and(|carried| carried.contains("&plan=2")));
    let back = "return document.getElementById('to-desk').getAttribute('href')";
    assert_eq!(visit.script(back).await, "#view=desk", "the plan is on the desk already");

    // Without a plan in the address, the one last on the desk.
    visit.go("#view=sheet").await;
    visit.reload().await;
    visit.text_when(".sheet-head h2", |text| text == "Taken along").await;
    visit.click("#to-desk").await;
    visit.script_when("return document.getElementById('plan-name')?.value", |value| value == "Taken along").await;
}

#[tokio::test]
async fn a_broken_link_is_said_and_no_other_plan_is_shown() {
    let Some(visit) = visit::open("#view=sheet&plan=1nonsense").await else { return };
    visit.text_when(".problem", |text| text.starts_with("The plan in this address cannot be read: ")).await;
    visit.find("#to-desk").await;
    assert!(!visit.has(".sheet-paper").await);
}
