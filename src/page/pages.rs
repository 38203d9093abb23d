//! The pages of the panel beside the course, which of them is open, and the links that lead into them.

/// A page of the panel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Page {
    /// The three questions, the hands compared, everything else about the kit.
    #[default]
    Kit,
    /// The link at the cursor: its budget and its line of sight.
    Link,
    /// Gates, the picked part, speed, site and targets.
    Yard,
    /// Power limit, and what to go through before anyone flies.
    Rules,
}

impl Page {
    /// In the order of their tabs.
    pub const ALL: [Self; 4] = [Self::Kit, Self::Link, Self::Yard, Self::Rules];

    /// The words on its tab.
    pub fn name(self) -> &'static str {
        match self {
            Self::Kit => "Kit and hand",
            Self::Link => "Link here",
            Self::Yard => "Yard and speed",
            Self::Rules => "Rules and safety",
        }
    }

    /// The name of its element.
    pub fn id(self) -> &'static str {
        match self {
            Self::Kit => "page-kit",
            Self::Link => "page-link",
            Self::Yard => "page-yard",
            Self::Rules => "page-rules",
        }
    }

    /// The page of an element's name.
    pub fn of_id(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|page| page.id() == id)
    }

    /// The page to which a key leads from the tab of this one; the row of tabs is closed.
    pub fn after_key(self, key: &str) -> Option<Self> {
        let count = Self::ALL.len();
        let place = Self::ALL.into_iter().position(|page| page == self)?;
        let next = match key {
            "ArrowRight" | "ArrowDown" => (place + 1) % count,
            "ArrowLeft" | "ArrowUp" => (place + count - 1) % count,
            "Home" => 0,
            "End" => count - 1,
            _ => return None,
        };
        Self::ALL.get(next).copied()
    }
}

#[cfg(target_arch = "wasm32")]
pub use browser::{page, tabs, use_links, use_page};

#[cfg(target_arch = "wasm32")]
mod browser {
    use gloo::timers::callback::Timeout;
    use gloo::utils::document;
    use wasm_bindgen::JsCast;
    use web_sys::{Element, HtmlElement};
    use yew::prelude::*;

    use super::Page;
    use crate::storage::{Browser, Store};
    use crate::window::is_wide;

    /// Where this tab of the browser remembers the page.
    const KEPT: &str = "lapmargin.page";

    /// The open page, also after the tab was loaded again, and how another is opened.
    #[hook]
    pub fn use_page() -> (Page, Callback<Page>) {
        let page = use_state_eq(|| Browser::Tab.get(KEPT).and_then(|id| Page::of_id(&id)).unwrap_or_default());
        let open = use_callback(page.setter(), |chosen: Page, page| {
            page.set(chosen);
            // Where nothing is kept, the next visit begins with the first page.
            let _ = Browser::Tab.set(KEPT, chosen.id());
        });
        (*page, open)
    }

    /// Follows links within the page: opens the page of the panel on which their goal is, and goes there. What leads
    /// elsewhere is left to the browser.
    #[hook]
    pub fn use_links(open: &Callback<Page>) -> Callback<MouseEvent> {
        use_callback(open.clone(), |event: MouseEvent, open| {
            let link = event.target().and_then(|target| target.dyn_into::<Element>().ok());
            let link = link.and_then(|target| target.closest("a[href^='#']").ok().flatten());
            let goal = link.and_then(|link| link.get_attribute("href"));
            let Some(goal) = goal.and_then(|href| document().get_element_by_id(href.trim_start_matches('#'))) else {
                return;
            };
            event.prevent_default();
            if let Some(page) =
                goal.closest("[role='tabpanel']").ok().flatten().and_then(|found| Page::of_id(&found.id()))
            {
                open.emit(page);
            }
            // Once the page is there.
            Timeout::new(0, move || go(&goal)).forget();
        })
    }

    fn go(goal: &Element) {
        goal.scroll_into_view();
        if let Some(goal) = goal.dyn_ref::<HtmlElement>() {
            // What does not take the focus is in sight all the same.
            let _ = goal.focus();
        }
    }

    /// The row of tabs; where there is one column, with a way back to the course.
    pub fn tabs(chosen: Page, open: &Callback<Page>) -> Html {
        let onkeydown = {
            let open = open.clone();
            Callback::from(move |event: KeyboardEvent| {
                if let Some(next) = chosen.after_key(&event.key()) {
                    event.prevent_default();
                    open.emit(next);
                    let tab = document().query_selector(&format!("[aria-controls='{}']", next.id())).ok().flatten();
                    tab.iter().for_each(go);
                }
            })
        };
        html! {
            <nav class="tabs" aria-label="Pages">
                <a class="tab tabs-course" href="#course-heading">{ "Course" }</a>
                <div class="tabs-row" role="tablist" aria-label="Pages of the panel" {onkeydown}>
                    { for Page::ALL.into_iter().map(|page| {
                        let is_chosen = page == chosen;
                        let onclick = open.reform(move |_: MouseEvent| {
                            if !is_wide() {
                                Timeout::new(0, move || document().get_element_by_id(page.id()).iter().for_each(Element::scroll_into_view)).forget();
                            }
                            page
                        });
                        html! {
                            <button type="button" key={page.id()} class="tab" role="tab" id={format!("{}-tab", page.id())}
                                aria-controls={page.id()} aria-selected={is_chosen.to_string()}
                                tabindex={if is_chosen { "0" } else { "-1" }} {onclick}>{ page.name() }</button>
                        }
                    }) }
                </div>
            </nav>
        }
    }

    /// A page with what stands on it. All of them stay, so that nothing typed is lost; one is seen.
    pub fn page(this: Page, chosen: Page, inside: Html) -> Html {
        html! {
            <div id={this.id()} class="page" role="tabpanel" aria-labelledby={format!("{}-tab", this.id())} hidden={this != chosen}>
                { inside }
            </div>
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_go_round_the_tabs() {
        for key in ["ArrowRight", "ArrowDown"] {
            let mut page = Page::default();
            let seen: Vec<Page> = Page::ALL
                .into_iter()
                .map(|_| {
                    page = page.after_key(key).expect("an arrow leads on");
                    page
                })
                .collect();
            assert_eq!(seen, [Page::Link, Page::Yard, Page::Rules, Page::Kit]);
        }
        for page in Page::ALL {
            assert_eq!(page.after_key("ArrowRight").and_then(|next| next.after_key("ArrowLeft")), Some(page));
            assert_eq!((page.after_key("Home"), page.after_key("End")), (Some(Page::Kit), Some(Page::Rules)));
            assert_eq!(page.after_key("Enter"), None);
        }
    }

    #[test]
    fn a_page_is_found_by_its_name() {
        for page in Page::ALL {
            assert_eq!(Page::of_id(page.id()), Some(page));
        }
        assert_eq!(Page::of_id("page-tea"), None);
    }
}
