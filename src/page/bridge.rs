//! The window's end of the line to the worker.

use std::cell::RefCell;
use std::rc::{Rc, Weak};

use gloo::timers::callback::Interval;
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{ErrorEvent, HtmlScriptElement, MessageEvent, Worker, WorkerOptions, WorkerType};

use super::jobs::{Event, Job, JobNumber, Queue, Step, TICK_MS};
use super::message::{self, FromWorker};

/// A worker of one's own, started with the first job, restarted when it breaks down or does not answer, and stopped when the
/// last clone of the bridge is dropped.
///
/// Each bridge has its own worker: a long search on a second bridge does not hold up the laps on the first.
#[derive(Clone)]
pub struct Bridge(Rc<Line>);

struct Line {
    queue: RefCell<Queue>,
    worker: RefCell<Option<Running>>,
    /// Keeps the time of a worker for which somebody waits.
    clock: RefCell<Option<Interval>>,
    on_event: Box<dyn Fn(Event)>,
    /// For the worker's listeners, which must not keep the line alive.
    this: Weak<Line>,
}

/// A started worker and its listeners, which live as long as it does.
struct Running {
    worker: Worker,
    _on_message: Closure<dyn FnMut(MessageEvent)>,
    _on_error: Closure<dyn FnMut(web_sys::Event)>,
}

impl Bridge {
    /// A bridge that tells `on_event` what becomes of its jobs; never from within [`post`](Self::post), unless the browser
    /// refuses to open a worker at all.
    pub fn new(on_event: impl Fn(Event) + 'static) -> Self {
        Self(Rc::new_cyclic(|this| Line {
            queue: RefCell::default(),
            worker: RefCell::default(),
            clock: RefCell::default(),
            on_event: Box::new(on_event),
            this: this.clone(),
        }))
    }

    /// Hands a job over and returns the number under which it will be answered. See [`super::jobs`] for what happens
    /// when jobs come faster than answers.
    pub fn post(&self, job: Job) -> JobNumber {
        let (number, steps) = self.0.queue.borrow_mut().post(job);
        self.0.take(steps);
        number
    }

    /// Forgets a job; nothing more is heard of it. A job in progress is interrupted by restarting the worker.
    pub fn cancel(&self, number: JobNumber) {
        let steps = self.0.queue.borrow_mut().cancel(number);
        self.0.take(steps);
    }
}

impl PartialEq for Bridge {
    /// Whether both are clones of the same bridge.
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.0, &other.0)
    }
}

impl Line {
    fn take(&self, steps: Vec<Step>) {
        for step in steps {
            match step {
                Step::Stop => drop(self.worker.take()),
                Step::Tell(event) => (self.on_event)(event),
                Step::Start => match self.start() {
                    Ok(running) => drop(self.worker.replace(Some(running))),
                    Err(cause) => self.broke(&cause),
                },
                Step::Send(number, errand) => {
                    let sent = match &*self.worker.borrow() {
                        Some(running) => running.worker.post_message(&message::from_errand(number, &errand)),
                        None => Err(JsValue::UNDEFINED),
                    };
                    if sent.is_err() {
                        self.broke("the browser did not pass the job on");
                    }
                }
            }
        }
        self.keep_time();
    }

    /// Starts the clock when somebody waits for the worker.
    fn keep_time(&self) {
        if self.clock.borrow().is_some() || !self.queue.borrow().is_waiting() {
            return;
        }
        let line = self.this.clone();
        let clock = Interval::new(TICK_MS, move || {
            if let Some(line) = line.upgrade() {
                line.ticked();
            }
        });
        self.clock.replace(Some(clock));
    }

    /// Nobody waits at most of the ticks: then the clock stops until it is needed again.
    fn ticked(&self) {
        let steps = self.queue.borrow_mut().tick();
        self.take(steps);
        if !self.queue.borrow().is_waiting() {
            drop(self.clock.take());
        }
    }

    fn broke(&self, cause: &str) {
        let steps = self.queue.borrow_mut().broke(cause);
        self.take(steps);
    }

    fn start(&self) -> Result<Running, String> {
        let address = start_script().ok_or("the page does not say where its program lies")?;
        let options = WorkerOptions::new();
        options.set_type(WorkerType::Module);
        let worker = Worker::new_with_options(&address, &options)
            .map_err(|error| error.as_string().unwrap_or_else(|| "the browser starts no worker".to_owned()))?;

        let line = self.this.clone();
        let on_message = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
            let Some(line) = line.upgrade() else { return };
            // Messages that make no sense are not ours to answer.
            let steps = match message::to_from_worker(&event.data()) {
                Some(FromWorker::Ready) => line.queue.borrow_mut().ready(),
                Some(FromWorker::Done(number, outcome)) => line.queue.borrow_mut().answered(number, outcome),
                Some(FromWorker::SoFar(number, answer)) => line.queue.borrow_mut().so_far(number, answer),
                None => Vec::new(),
            };
            line.take(steps);
        });
        let line = self.this.clone();
        let on_error = Closure::<dyn FnMut(web_sys::Event)>::new(move |event: web_sys::Event| {
            let Some(line) = line.upgrade() else { return };
            // A file that cannot be loaded comes without a message.
            let cause = event.dyn_ref::<ErrorEvent>().map(ErrorEvent::message).unwrap_or_default();
            line.broke(&cause);
        });
        worker.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
        worker.set_onerror(Some(on_error.as_ref().unchecked_ref()));
        worker.set_onmessageerror(Some(on_error.as_ref().unchecked_ref()));
        Ok(Running { worker, _on_message: on_message, _on_error: on_error })
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // Messages already on their way would call listeners that are gone.
        self.worker.set_onmessage(None);
        self.worker.set_onerror(None);
        self.worker.set_onmessageerror(None);
        self.worker.terminate();
    }
}

/// The address under which the page itself was started; it names the built files.
fn start_script() -> Option<String> {
    let document = web_sys::window()?.document()?;
    Some(document.get_element_by_id("start")?.dyn_into::<HtmlScriptElement>().ok()?.src())
}
