// Starts the page's program: in the window, where index.html names this file, and in the worker, which the page
// opens under the very same address. The program itself asks which of the two it woke up in.
// The built files carry a hash in their names, so the address says what each program is called:
// start.js?page=lapmargin-page-…&bench=lapmargin-bench-…&sheet=lapmargin-sheet-…
const names = new URL(import.meta.url).searchParams;
// Views with a program of their own; the planner's program, page, shows all others.
const PROGRAMS = ["bench", "sheet"];

// The view that has a program of its own, if the page's address asks for one.
function view() {
  const word = /^#(?:.*&)?view=(\w+)/.exec(location.hash)?.[1];
  return PROGRAMS.includes(word) ? word : undefined;
}

// Plain file names beside this file only, so that a crafted address cannot start anything else.
function beside(name) {
  if (!/^[\w-]+\.(js|wasm)$/.test(name)) throw new Error(`start.js: "${name}" is not the name of a built file`);
  return new URL(name, import.meta.url);
}

const asked = view();
const program = names.get(asked ?? "page");
// Pictures under the planner's drawing; without them the page works on.
const pictures = !asked && globalThis.document && import(new URL("pictures.js", import.meta.url)).catch(console.info);
// Both files are asked for at once; index.html does not preload them, as it cannot know which program is wanted.
const module_or_path = fetch(beside(`${program}_bg.wasm`));
// An error has to reach the worker's error event, which a rejected promise does not do by itself.
Promise.all([import(beside(`${program}.js`)), pictures]).then(([page]) => page.default({ module_or_path })).catch(reportError);

// For use without a network. What there is to say stands on the document, where the page reads it:
// "kept" this version is complete here, "new" another one is and waits, "others" it waits for other tabs.
async function keep() {
  const worker = navigator.serviceWorker;
  const say = (edition) => {
    document.documentElement.dataset.edition = edition;
    dispatchEvent(new Event("edition"));
  };
  const registration = await worker.register(new URL("offline.js", import.meta.url), { updateViaCache: "none" });
  const follow = () => {
    const { installing } = registration;
    installing?.addEventListener("statechange", () => {
      if (installing.state === "installed") say(registration.active ? "new" : "kept");
    });
  };
  // A reload that goes past the worker has no controller, but the version is still here.
  if (worker.controller || registration.active) say(registration.waiting ? "new" : "kept");
  follow();
  registration.addEventListener("updatefound", follow);
  addEventListener("edition-use", () => registration.waiting?.postMessage("use"));
  worker.addEventListener("message", (event) => say(event.data));
  worker.addEventListener("controllerchange", () => location.reload());
}

// Another program takes another start.
globalThis.addEventListener("hashchange", () => {
  if (view() !== asked) location.reload();
});

// Keeps the screen awake while the document asks for it (data-awake). A browser lets go by itself when the page is hidden,
// and may refuse, with an empty battery for one: then the document says "refused".
let awake;
async function wake() {
  const root = document.documentElement;
  if (root.dataset.awake !== "asked") return awake = awake?.release() && undefined;
  if (document.visibilityState !== "visible" || (awake && !awake.released)) return;
  awake = await navigator.wakeLock?.request("screen").catch(() => undefined);
  if (!awake) root.dataset.awake = "refused";
}
if (globalThis.document) {
  new MutationObserver(wake).observe(document.documentElement, { attributeFilter: ["data-awake"] });
  document.addEventListener("visibilitychange", wake);
}
// Only in the window, only where the browser has it, and after what is needed to show the page.
if (globalThis.navigator?.serviceWorker && globalThis.document) {
  addEventListener("load", () => keep().catch(console.info));
}
