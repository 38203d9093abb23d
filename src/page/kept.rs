//! One component that stands in for all of the page's own.
//!
//! Yew compiles its whole machinery (scope, life cycle, mounting, scheduling) anew for every type of component: some 4 kB
//! of program each, and the page has to reach a phone in a field. Here that machinery is compiled once, for [`Kept`];
//! what differs between components, their properties and what they draw, hides behind a trait object. Written and used
//! like any other, a component keeps its state and its hooks, and is drawn again only when its properties change.
//!
//! The fields of the forms are mounted the usual way (`<NumberField .. />`): there are few kinds of them and many uses.

use std::any::{Any, TypeId};
use std::rc::Rc;

use yew::functional::{FunctionComponent, FunctionProvider, HookContext};
use yew::html::{BaseComponent, Context, HtmlResult};
use yew::virtual_dom::{Key, VComp};
use yew::{Html, Properties};

/// A component with properties, as part of what its parent shows.
pub fn kept<C: FunctionProvider + 'static>(props: C::Properties) -> Html {
    placed(Rc::new(Shown::<C>(props)), None)
}

/// The same with a key, for lists.
pub fn kept_as<C: FunctionProvider + 'static>(key: impl Into<Key>, props: C::Properties) -> Html {
    placed(Rc::new(Shown::<C>(props)), Some(key.into()))
}

/// Shows a component as the whole page.
pub fn open<C: FunctionProvider + 'static>(props: C::Properties) {
    yew::Renderer::<Kept>::with_props(KeptProps { drawn: Rc::new(Shown::<C>(props)) }).render();
}

fn placed(drawn: Rc<dyn Drawn>, key: Option<Key>) -> Html {
    VComp::new::<Kept>(Rc::new(KeptProps { drawn }), key).into()
}

/// A component with its properties, whichever it is.
trait Drawn {
    fn as_any(&self) -> &dyn Any;
    fn is_same(&self, other: &dyn Drawn) -> bool;
    fn draw(&self, hooks: &mut HookContext) -> HtmlResult;
}

struct Shown<C: FunctionProvider>(C::Properties);

impl<C: FunctionProvider + 'static> Drawn for Shown<C> {
    fn as_any(&self) -> &dyn Any {
        self
    }

    fn is_same(&self, other: &dyn Drawn) -> bool {
        other.as_any().downcast_ref::<Self>().is_some_and(|other| self.0 == other.0)
    }

    fn draw(&self, hooks: &mut HookContext) -> HtmlResult {
        C::run(hooks, &self.0)
    }
}

/// Properties of [`Kept`]: the component and its own properties.
#[derive(Clone, Properties)]
pub struct KeptProps {
    drawn: Rc<dyn Drawn>,
}

impl KeptProps {
    fn component(&self) -> TypeId {
        self.drawn.as_any().type_id()
    }
}

impl PartialEq for KeptProps {
    fn eq(&self, other: &Self) -> bool {
        self.drawn.is_same(&*other.drawn)
    }
}

/// Any of the page's components.
pub struct Kept {
    function: FunctionComponent<Self>,
}

impl FunctionProvider for Kept {
    type Properties = KeptProps;

    fn run(hooks: &mut HookContext, props: &KeptProps) -> HtmlResult {
        props.drawn.draw(hooks)
    }
}

impl BaseComponent for Kept {
    type Message = ();
    type Properties = KeptProps;

    fn create(context: &Context<Self>) -> Self {
        Self { function: FunctionComponent::new(context) }
    }

    fn update(&mut self, _: &Context<Self>, (): ()) -> bool {
        true
    }

    fn changed(&mut self, context: &Context<Self>, old: &KeptProps) -> bool {
        // Yew sees the same component at this place. If it stands for another one now, that one begins afresh: state and
        // effects belong to the old one.
        if context.props().component() != old.component() {
            self.function.destroy();
            self.function = FunctionComponent::new(context);
        }
        true
    }

    fn view(&self, context: &Context<Self>) -> HtmlResult {
        self.function.render(context.props())
    }

    fn rendered(&mut self, _: &Context<Self>, _: bool) {
        self.function.rendered();
    }

    fn destroy(&mut self, _: &Context<Self>) {
        self.function.destroy();
    }

    fn prepare_state(&self) -> Option<String> {
        self.function.prepare_state()
    }
}
