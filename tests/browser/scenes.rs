//! Views and states of the page that are looked at as a whole: by the rules of accessibility, and enlarged.

use thirtyfour::Key;

use lapmargin::link::pair::text;

use crate::antenna_table::measured_link;
use crate::visit::Visit;

/// What is in sight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scene {
    /// The planner with the demo plan, its verdicts and its laps in time.
    Desk,
    /// The page with the link at the cursor.
    Link,
    /// The page with the yard and the speed.
    Yard,
    /// The page with rules and safety.
    Rules,
    /// A gate is picked and has its fields.
    Gate,
    /// A building is picked, with handles at its corners.
    Building,
    /// A seat is picked.
    Seat,
    /// The settings are open.
    Settings,
    /// The list of plans is open, with two plans and what was said when the second came.
    Plans,
    /// The form for a new plan is open.
    NewPlan,
    /// Values typed wrong, and a plan link that cannot be read.
    Refused,
    /// The map lies on the course.
    Map,
    /// The lap was flown, with each pilot's picture.
    Flown,
    /// A hand that nobody says, what that moved, and the three hands compared.
    Hands,
    /// Everything that can be unfolded is.
    Unfolded,
    /// The bench with its wave and its picture.
    Bench,
    /// The bench with a wall in the way, a value typed wrong, and all of it unfolded.
    BenchUnfolded,
    /// The bench with a measured antenna: its plot, its words, every row.
    BenchMeasured,
    /// The bench for an unattended screen.
    Table,
    /// The sheet to print.
    Sheet,
    /// The sheet of a plan link that cannot be read.
    NoSheet,
}

use Scene::*;

/// Those of the planner.
pub const PLANNER: [Scene; 15] =
    [Desk, Link, Yard, Rules, Gate, Building, Seat, Settings, Plans, NewPlan, Refused, Map, Flown, Hands, Unfolded];
/// Those of the other views.
pub const OTHERS: [Scene; 6] = [Bench, BenchUnfolded, BenchMeasured, Table, Sheet, NoSheet];

impl Scene {
    fn tail(self) -> String {
        let tail = match self {
            BenchMeasured => return format!("#view=bench&link={}", text::write(&measured_link())),
            Bench | BenchUnfolded => "#view=bench",
            Table => "#view=bench&table=1",
            Sheet => "#view=sheet",
            NoSheet => "#view=sheet&plan=1nonsense",
            _ => "#view=desk",
        };
        tail.to_owned()
    }

    /// Brings it about in a page that is loaded anew.
    pub async fn set(self, visit: &Visit) {
        visit.go(&self.tail()).await;
        visit.reload().await;
        if PLANNER.contains(&self) {
            // Once laps are flown nothing comes by itself any more.
            visit.page("kit").await;
            visit.flown().await;
        }
        match self {
            Desk => {}
            Gate => pick(visit, "gate-1").await,
            Building => pick(visit, "obstacle-0").await,
            Seat => pick(visit, "seat-0").await,
            Link | Yard | Rules => visit.page(&format!("{self:?}").to_lowercase()).await,
            Settings => {
                visit.menu().await;
                visit.click("#settings summary").await;
            }
            Plans => {
                visit.menu().await;
                visit.type_over("#plan-name", "Behind the mill").await;
                visit.press("#plan-name", Key::Enter).await;
                visit.click("#plans-summary").await;
                visit.click("#plans button[aria-label^='Duplicate']").await;
                let second = "return document.getElementById('plan-name').value";
                visit.script_when(second, |name| name == "Behind the mill (2)").await;
                // To take another plan closes the list.
                visit.click("#plans-summary").await;
                visit.find(".plans-row:nth-of-type(2) .plans-name").await;
            }
            NewPlan => {
                visit.menu().await;
                visit.click("#new-plan summary").await;
            }
            Refused => {
                visit.go("#view=desk&plan=1nonsense").await;
                visit.find("#plans-notice").await;
                for (page, field, text) in [("kit", "ask-power", "12.x"), ("yard", "place-width", "-3")] {
                    visit.page(page).await;
                    visit.type_over(&format!("#{field}"), text).await;
                    visit.press(&format!("#{field}"), Key::Enter).await;
                    visit.find(&format!("#{field}-wrong")).await;
                }
            }
            Map => {
                visit.click("#map-switch").await;
                let said = "return document.querySelector(\".map [role='status']\")?.textContent ?? ''";
                visit.script_when(said, |text| text.as_str().is_some_and(|text| text.contains("complete"))).await;
                visit.press("#map-cursor", Key::Right).await;
            }
            Flown => {
                visit.press("#fly", Key::Enter).await;
                visit.text_when("#pilots-pictures", |text| text.matches("dB").count() >= 4).await;
                // Who wants little movement flies by steps, and need not halt.
                if visit.find("#fly").await.text().await.is_ok_and(|text| text == "Pause") {
                    visit.press("#fly", Key::Enter).await;
                    visit.text_when("#fly", |text| text.contains("Play lap")).await;
                }
            }
            Hands => {
                visit.click("#ask-aircraft-hand-2").await;
                visit.text_when("#unknown-hands", |text| text.contains("left hand")).await;
                visit.click("#hands-compare").await;
                visit.find(".hands-table tbody tr:nth-child(3) td").await;
            }
            Unfolded => {
                pick(visit, "gate-1").await;
                visit.page("kit").await;
                unfold(visit).await;
            }
            Bench => drop(visit.text_when("#bench-margin", |text| !text.is_empty()).await),
            BenchUnfolded => {
                visit.press("#show-3", Key::Enter).await;
                visit.text_when("#wave-words", |text| text.contains("turned over")).await;
                visit.type_over("#bench-d", "far away").await;
                visit.press("#bench-d", Key::Enter).await;
                visit.find("#bench-d-wrong").await;
                unfold(visit).await;
            }
            BenchMeasured => {
                visit.find(".polar").await;
                unfold(visit).await;
            }
            Table => drop(visit.text_when("#table-heading", |text| !text.is_empty()).await),
            Sheet => {
                visit.find(".sheet-entry").await;
                let flown = "return !document.querySelector('.sheet-paper').textContent.includes('imulating laps')";
                visit.script_when(flown, |flown| *flown == true).await;
            }
            NoSheet => drop(visit.text_when(".problem", |text| !text.is_empty()).await),
        }
    }
}

async fn pick(visit: &Visit, part: &str) {
    visit.press(&format!("[data-part='{part}']"), Key::Enter).await;
    visit.page("yard").await;
    visit.find("#part-name").await;
}

/// Opens whatever is folded, save what lies over the rest.
async fn unfold(visit: &Visit) {
    visit.script("document.querySelectorAll('details:not(.settings)').forEach(fold => { fold.open = true; })").await;
    visit
        .script_when("return document.querySelectorAll('details:not(.settings):not([open])').length", |left| *left == 0)
        .await;
}
