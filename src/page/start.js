// Starts the page's program: in the window, where index.html names this file, and in the worker, which the page
// opens under the very same address. The program itself asks which of the two it woke up in.
// The built files carry a hash in their names, so the address says what they are called:
// start.js?page=lapmargin-page-….js&wasm=lapmargin-page-…_bg.wasm
const names = new URL(import.meta.url).searchParams;

// Plain file names beside this file only, so that a crafted address cannot start anything else.
function beside(key) {
  const name = names.get(key) ?? "";
  if (!/^[\w-]+\.(js|wasm)$/.test(name)) throw new Error(`start.js: "${key}" is not the name of a built file`);
  return new URL(name, import.meta.url);
}

// An error has to reach the worker's error event, which a rejected promise does not do by itself.
import(beside("page"))
  .then((page) => page.default({ module_or_path: beside("wasm") }))
  .catch(reportError);
