// Pictures of site plans that lie under the drawing. They are kept in this browser and nowhere else: IndexedDB has room
// for what the plans' own store has not. The page decides; here it is only carried out. What there is to say stands in
// `answer`, and an event calls for it: a picture that was found, the beginning of a file, or that nothing was kept.
const STORE = "pictures";

function open() {
  return new Promise((done, fail) => {
    const asked = indexedDB.open(`lapmargin ${new URL("./", import.meta.url).pathname}`, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE);
    asked.onsuccess = () => done(asked.result);
    asked.onerror = asked.onblocked = () => fail(asked.error);
  });
}

// What was asked for is there when the whole of it is written, or none of it.
async function act(mode, ask) {
  const base = await open();
  try {
    return await new Promise((done, fail) => {
      const change = base.transaction(STORE, mode);
      const asked = ask(change.objectStore(STORE));
      change.oncomplete = () => done(asked.result);
      change.onabort = () => fail(change.error);
    });
  } finally {
    base.close();
  }
}

function answer(what) {
  globalThis.pictures.answer = what;
  dispatchEvent(new Event("picture"));
}

const write = (id, ask) => act("readwrite", ask).catch(() => answer({ id, failed: true }));

globalThis.pictures = {
  // Where nothing can be kept, there is nothing to be found.
  find: (id) => act("readonly", (store) => store.get(id)).then((found) => found && answer({ id, ...found }), () => {}),
  keep: (id, picture, lies) => write(id, (store) => store.put({ picture, lies }, id)),
  drop: (id) => write(id, (store) => store.delete(id)),
  // Pictures of plans that are no longer there.
  only: (ids) => write("", (store) => {
    const asked = store.getAllKeys();
    asked.onsuccess = () => asked.result.filter((id) => !ids.includes(id)).forEach((id) => store.delete(id));
    return asked;
  }),
  // A file that cannot be read has no beginning.
  take: async (id, picture, bytes) => {
    const head = await picture.slice(0, bytes).arrayBuffer().catch(() => []);
    answer({ id, picture, head: new Uint8Array(head) });
  },
  // Drawn anew as it is seen: turned the way that its file says, and without what else the file tells (where and with what it
  // was taken). As many dots as every browser's canvas has. What cannot be drawn is damaged.
  redraw: async (id, picture) => {
    try {
      const [first] = new Uint8Array(await picture.slice(0, 1).arrayBuffer());
      const seen = await createImageBitmap(picture, { imageOrientation: "from-image" });
      const scale = Math.min(1, Math.sqrt(16e6 / (seen.width * seen.height)));
      const dots = [seen.width, seen.height].map((side) => Math.max(1, Math.floor(side * scale)));
      const canvas = document.createElement("canvas");
      [canvas.width, canvas.height] = dots;
      canvas.getContext("2d").drawImage(seen, 0, 0, ...dots);
      seen.close();
      const drawn = await new Promise((done) => canvas.toBlob(done, first === 0x89 ? "image/png" : "image/jpeg", 0.9));
      answer(drawn ? { id, picture: drawn, dots } : { id, picture, damaged: true });
    } catch {
      answer({ id, picture, damaged: true });
    }
  },
};
