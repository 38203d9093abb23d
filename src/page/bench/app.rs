//! The bench as a page: the link on the left, what comes of it on the right.

use std::rc::Rc;

use gloo::events::EventListener;
use gloo::timers::callback::Timeout;
use wasm_bindgen::{JsCast, JsValue};
use yew::prelude::*;

use super::budget::{Budget, BudgetProps, headline};
use super::curves::{Curves, CurvesProps};
use super::link_form::{LinkForm, LinkFormProps};
use super::picture::{self, PictureView, PictureViewProps};
use super::plans;
use super::profile;
use super::shows::{self, ShowBar, ShowBarProps, Table, TableProps, TiltPanel, TiltPanelProps};
use super::state::{Act, Bench, BenchAddress, EntryPort, asked, fragment, seat};
use super::wave::{Dialled, WaveEnd, WaveView, WaveViewProps};
use crate::caution_words::exposure_sentence;
use crate::drawing::path_text::at;
use crate::drawing::width::use_width;
use crate::elements::{button, note};
use crate::fields::ChoiceField;
use crate::format::{DisplayUnits, fixed, short_length};
use crate::kept::{self, kept};
use crate::link::pair::hearing::PairReport;
use crate::link::pair::{PairLink, Side, beside, hearing};
use crate::own_style;
use crate::plan::document::Plan;
use crate::plans::keeper::{Keeper, VisitMoment};
use crate::preferences::Preferences;
use crate::rf::power_rule::licence_caution;
use crate::settings::{settings, use_look};
use crate::storage::{self, Backed, Browser};
use crate::undo_keys::{UndoKey, use_undo_keys};
use crate::units::Hertz;

/// The bench's styles.
const STYLES: &str = concat!(
    include_str!("../../../style/bench.css"),
    include_str!("../../../style/wave.css"),
    include_str!("../../../style/picture.css"),
);

/// Opens the bench as the whole page.
pub fn start() {
    own_style::apply(STYLES);
    kept::open::<BenchApp>(());
}

/// The bench's reducer, as the browser framework takes it.
#[derive(Clone, PartialEq)]
struct Held(Bench);

impl Reducible for Held {
    type Action = Act;

    fn reduce(self: Rc<Self>, act: Act) -> Rc<Self> {
        self.0.after(act).map_or(self, |next| Rc::new(Self(next)))
    }
}

/// What a visit begins with.
struct BenchVisit {
    link: PairLink,
    seat: EntryPort,
    /// What there is to say about where the link comes from.
    said: Option<String>,
    /// The plan on the desk, for instants and antennas.
    plan: Plan,
}

fn hash() -> String {
    web_sys::window().and_then(|window| window.location().hash().ok()).unwrap_or_default()
}

/// The plan on the planner's desk, as its next visit would find it.
fn plan_on_desk() -> Plan {
    let (store, tab) = (Backed::new(Box::new(Browser::Visits)), Backed::new(Box::new(Browser::Tab)));
    // Nothing is written here, so that no moment is needed.
    Keeper::begin(store, tab, None, &VisitMoment { now_ms: 0, fresh: String::new() }).1
}

fn begin() -> BenchVisit {
    let plan = plan_on_desk();
    let address = hash();
    let usual = |said| (PairLink::default(), seat(&address), said);
    let (link, seat, said) = match asked(&address) {
        BenchAddress::Usual => usual(None),
        BenchAddress::Link(link) => (*link, seat(&address), None),
        BenchAddress::Refused(why) => usual(Some(why)),
        BenchAddress::Instant { seat, sample } => match plans::take(&plan, seat, sample) {
            Ok((link, words)) => (link, seat, Some(words)),
            Err(why) => (PairLink::default(), seat, Some(why)),
        },
    };
    BenchVisit { link, seat, said, plan }
}

/// The page.
#[component]
pub fn BenchApp() -> Html {
    let begun = use_memo((), |()| begin());
    let bench = use_reducer(|| Held(Bench::new(begun.link.clone())));
    let preferences = use_state(storage::kept_preferences);
    let seat = use_state(|| begun.seat);
    let said = use_state(|| begun.said.clone());
    let table = use_state(|| shows::asks_for_table(&hash()));
    use_address(&bench, *seat, *table);
    use_other_address();
    use_look(*preferences);
    let on_undo_key = {
        let bench = bench.dispatcher();
        use_callback((), move |key, ()| {
            bench.dispatch(match key {
                UndoKey::Undo => Act::Undo,
                UndoKey::Redo => Act::Redo,
            });
        })
    };
    use_undo_keys(&on_undo_key);

    let link = bench.0.link.clone();
    let heard = use_memo(link.clone(), |link| hearing::hear(link).map(Rc::new));
    // What cannot be computed leaves the last good result on show.
    let last = use_mut_ref(|| None);
    if let Ok(report) = &*heard {
        *last.borrow_mut() = Some(report.clone());
    }
    let report = last.borrow().clone();
    let on_change = {
        let (bench, said) = (bench.dispatcher(), said.setter());
        use_callback((), move |link: PairLink, ()| {
            said.set(None);
            bench.dispatch(Act::Set(Box::new(link)));
        })
    };
    let on_along = {
        let bench = bench.dispatcher();
        use_callback((), move |along, ()| bench.dispatch(Act::Along(along)))
    };
    let on_preferences = {
        let preferences = preferences.setter();
        Callback::from(move |changed: Preferences| {
            storage::keep_preferences(changed);
            preferences.set(changed);
        })
    };
    let on_slide = {
        let bench = bench.dispatcher();
        use_callback((), move |link: PairLink, ()| bench.dispatch(Act::Slide(Box::new(link))))
    };
    let on_table = {
        let table = table.setter();
        use_callback((), move |(), ()| {
            shows::ask_for_whole_screen();
            table.set(true);
        })
    };
    let on_leave = {
        let (table, on_change) = (table.setter(), on_change.clone());
        use_callback((), move |link: PairLink, ()| {
            table.set(false);
            on_change.emit(link);
        })
    };
    if *table {
        return kept::<Table>(TableProps { on_leave });
    }
    let act = |act: Act| {
        let bench = bench.dispatcher();
        Callback::from(move |_: MouseEvent| bench.dispatch(act.clone()))
    };
    html! {
        <ContextProvider<DisplayUnits> context={preferences.units}>
            <a class="skip" href="#bench-result" onclick={Callback::from(to_result)}>{ "To the result" }</a>
            <header class="masthead">
                <div class="masthead-title">
                    <h1>{ "Lapmargin" }</h1>
                    <p class="bench-title">{ "The bench: one link by itself" }</p>
                </div>
                <div class="masthead-tools">
                    <button type="button" id="undo" class="button" disabled={!bench.0.can_undo()} onclick={act(Act::Undo)}>{ "Undo" }</button>
                    <button type="button" id="redo" class="button" disabled={!bench.0.can_redo()} onclick={act(Act::Redo)}>{ "Redo" }</button>
                    { button("", "Reset link", None, act(Act::Set(Box::default()))) }
                    <a id="to-planner" class="button" href="#view=desk">{ "To the planner" }</a>
                    { settings(*preferences, &on_preferences, false) }
                </div>
                <div class="masthead-said" role="status">
                    if let Some(said) = &*said {
                        <p id="bench-said" class="bench-said">{ said }</p>
                    }
                </div>
            </header>
            <main class="bench">
                { kept::<ShowBar>(ShowBarProps { link: link.clone(), on_change: on_change.clone(), on_table }) }
                if let Some(report) = &report {
                    <section class="bench-sum" aria-label="The margin">{ headline(report, preferences.units) }</section>
                }
                <div class="bench-sheet">
                    if let Ok(report) = &*heard {
                        { seen(&link, report, &on_slide) }
                    }
                    <section class="bench-link" aria-labelledby="bench-link-heading">
                        <h2 id="bench-link-heading">{ "The link" }</h2>
                        { kept::<LinkForm>(LinkFormProps { link: link.clone(), on_change }) }
                    </section>
                    <section class="bench-result" aria-labelledby="bench-result">
                        <h2 id="bench-result" tabindex="-1">{ "Result" }</h2>
                        { kept::<Profile>(ProfileProps { link: link.clone() }) }
                        if let Err(problem) = &*heard {
                            <p id="bench-problem" class="problem" role="alert">
                                { format!("This cannot be computed: {problem}. Below stands the last that could.") }
                            </p>
                        }
                        if let Some(report) = &report {
                            { kept::<Budget>(BudgetProps { report: report.clone() }) }
                            <p id="bench-caution">
                                { exposure_sentence(report.eirp, Hertz(link.frequency_hz), preferences.units) }
                                { " " }{ licence_caution(Hertz(link.frequency_hz)).unwrap_or_default() }
                            </p>
                        }
                        <h2>{ "Margin curves" }</h2>
                        { kept::<Curves>(CurvesProps { link: link.clone(), along: bench.0.along, on_along }) }
                        <h2>{ "Use in a plan" }</h2>
                        { to_plan(&begun.plan, *seat, &seat.setter(), &link, &said.setter()) }
                    </section>
                </div>
            </main>
        </ContextProvider<DisplayUnits>>
    }
}

/// The wave, and beside it the picture and the tilt.
fn seen(link: &Rc<PairLink>, report: &PairReport, on_slide: &Callback<PairLink>) -> Html {
    let [sender, receiver] = Side::ALL.map(|side| WaveEnd::of(link, report, side));
    let on_dial = {
        let (link, on_slide) = (link.clone(), on_slide.clone());
        Callback::from(move |dialled: Dialled| on_slide.emit(dialled.on(&link)))
    };
    let (wall, frequency) = (beside::wall(link), Hertz(link.frequency_hz));
    html! {
        <div class="bench-seen">
            { kept::<WaveView>(WaveViewProps { sender, receiver, wall, frequency, on_dial }) }
            <div class="bench-beside">
                { kept::<PictureView>(PictureViewProps { reception: picture::reception(link, report) }) }
                { kept::<TiltPanel>(TiltPanelProps { link: link.clone(), on_change: on_slide.clone() }) }
            </div>
        </div>
    }
}

/// Puts the keyboard on the result without touching the address, which carries the link.
fn to_result(event: MouseEvent) {
    event.prevent_default();
    if let Some(heading) = gloo::utils::document().get_element_by_id("bench-result") {
        // A heading that can take the keyboard does.
        let _ = heading.dyn_into::<web_sys::HtmlElement>().map(|heading| heading.focus());
    }
}

/// How long a link has to rest before it stands in the address: browsers refuse to change it with every move of a slider.
const REST_MS: u32 = 300;

/// Keeps the link in the address, so that loading the page again, or passing the address on, brings it back.
#[hook]
fn use_address(bench: &UseReducerHandle<Held>, seat: EntryPort, is_table: bool) {
    let own = use_mut_ref(hash);
    use_effect_with((bench.0.link.clone(), seat, is_table), move |(link, seat, is_table)| {
        let address = fragment(link, *seat) + if *is_table { shows::TABLE } else { "" };
        let rest = Timeout::new(REST_MS, move || {
            // An address that another hand has set meanwhile is on its way to being loaded and must not be lost.
            if hash() != *own.borrow() {
                return;
            }
            let history = web_sys::window().and_then(|window| window.history().ok());
            // An address that stays as it was still opens the bench.
            let _ = history.map(|history| history.replace_state_with_url(&JsValue::NULL, "", Some(&address)));
            *own.borrow_mut() = hash();
        });
        move || drop(rest)
    });
}

/// Begins anew when the address names another link; another view is `start.js`'s affair.
#[hook]
fn use_other_address() {
    use_effect_with((), |()| {
        let window = web_sys::window().expect("the page runs in a window");
        EventListener::new(&window, "hashchange", |_| {
            // What cannot be loaded again stays as it is.
            let _ = web_sys::window().map(|window| window.location().reload());
        })
        .forget();
    });
}

/// Puts an antenna of the bench into the plan on the desk.
fn to_plan(
    plan: &Plan,
    seat: EntryPort,
    set_seat: &UseStateSetter<EntryPort>,
    link: &Rc<PairLink>,
    said: &UseStateSetter<Option<String>>,
) -> Html {
    let names: Vec<AttrValue> = plan.entries.iter().map(|entry| AttrValue::from(entry.name.clone())).collect();
    if names.is_empty() {
        return note("The open plan has no entries.");
    }
    let on_choose = {
        let set_seat = set_seat.clone();
        Callback::from(move |entry: usize| set_seat.set(EntryPort { entry, port: 0 }))
    };
    let put = |side: Side| {
        let (plan, link, said) = (plan.clone(), link.clone(), said.clone());
        Callback::from(move |_: MouseEvent| match plans::put(&plan, seat, side, &link) {
            Ok(address) => go(&address),
            Err(why) => said.set(Some(why)),
        })
    };
    html! {
        <div class="bench-to-plan">
            <ChoiceField id="bench-entry" label={format!("Entry of “{}”", plan.name)} options={names} chosen={Some(seat.entry)} {on_choose} />
            <div class="bench-buttons">
                { button("put-transmitter", "Put the transmitter’s antenna on this aircraft", None, put(Side::Transmitter)) }
                { button("put-receiver", "Put the receiver’s antenna on its receiver", None, put(Side::Receiver)) }
            </div>
            { note("The planner opens with the changed plan as one of its own; the plan from before stays in its list.") }
        </div>
    }
}

/// Opens an address of this page; another view is another program and is loaded.
fn go(fragment: &str) {
    if let Some(window) = web_sys::window() {
        // Listeners follow the new address; where it cannot be set, the bench stays.
        let _ = window.location().set_hash(fragment.trim_start_matches('#'));
    }
}

/// Properties of [`Profile`].
#[derive(Properties, PartialEq)]
struct ProfileProps {
    link: Rc<PairLink>,
}

/// The link from the side.
#[component]
fn Profile(props: &ProfileProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let sheet = use_node_ref();
    let width = use_width(&sheet);
    let link = &props.link;
    let drawn = (width > 0.0).then(|| {
        let drawn = profile::profile(link, width);
        let (transmitter, receiver) = (drawn.transmitter, drawn.receiver);
        let mast = |[x, y]: [f64; 2]| html! {
            <g class="bench-mast">
                <line x1={at(x)} x2={at(x)} y1={at(y)} y2={at(profile::GROUND)} />
                <circle cx={at(x)} cy={at(y)} r="3.5" />
            </g>
        };
        let height = |metres: f64| short_length(metres, units);
        html! {
            <svg class="bench-profile" role="img" aria-label="The link from the side, with its first Fresnel zone"
                viewBox={format!("0 0 {} {}", at(width), at(profile::HEIGHT))} width={at(width)} height={at(profile::HEIGHT)}>
                <path class="bench-zone" d={drawn.zone} />
                if let Some([left, top, across, down]) = drawn.obstacle {
                    <rect class="bench-obstacle" x={at(left)} y={at(top)} width={at(across)} height={at(down)} />
                }
                <line class="bench-ground" x1="0" x2={at(width)} y1={at(profile::GROUND)} y2={at(profile::GROUND)} />
                <line class="bench-sight" x1={at(transmitter[0])} y1={at(transmitter[1])} x2={at(receiver[0])} y2={at(receiver[1])} />
                { mast(transmitter) }{ mast(receiver) }
                <text class="is-start" x="4" y={at(transmitter[1] - 9.0)}>{ height(link.transmitter.height_m) }</text>
                <text class="is-end" x={at(width - 4.0)} y={at(receiver[1] - 9.0)}>{ height(link.receiver.height_m) }</text>
                <text class="is-start" x="4" y={at(profile::HEIGHT - 8.0)}>{ "transmitter" }</text>
                <text x={at(width / 2.0)} y={at(profile::HEIGHT - 8.0)}>{ short_length(link.distance_m, units) }</text>
                <text class="is-end" x={at(width - 4.0)} y={at(profile::HEIGHT - 8.0)}>{ "receiver" }</text>
            </svg>
        }
    });
    html! {
        <div class="bench-profile-sheet" ref={sheet}>
            { for drawn }
            if width > 0.0 {
                { note(format!(
                    "Heights are drawn {} times as large as lengths. The first Fresnel zone is shaded; six tenths of its radius should be free.",
                    fixed(profile::profile(link, width).raised, 1),
                )) }
            }
        </div>
    }
}
