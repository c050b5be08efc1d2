// Starts the program and keeps the stop screen.
//
// The stop screen is plain script because it must work when the program does not: after a fault every
// call into the module throws, so no listener of the program's own would run.

const byId = (id) => document.getElementById(id);
let stopped = false;

function stop(message, title) {
  if (stopped) return;
  stopped = true;
  if (title) byId("stop-title").textContent = title;
  byId("stop-message").textContent = message;
  byId("planeward").inert = true;
  byId("stop").hidden = false;
  byId("stop-title").focus();
}

byId("stop-reload").addEventListener("click", () => location.reload());
byId("stop-fresh").addEventListener("click", () => {
  history.replaceState(null, "", location.pathname + location.search);
  location.reload();
});
byId("stop-copy").addEventListener("click", async () => {
  const text = `${byId("stop-message").textContent}\n${location.href}\n${navigator.userAgent}`;
  const words = byId("stop-copied").dataset;
  let said = words.copied ?? "Copied.";
  try {
    await navigator.clipboard.writeText(text);
  } catch {
    // No clipboard in this frame: mark the text, so that the keys for copying work.
    const range = document.createRange();
    range.selectNodeContents(byId("stop-message"));
    const marked = getSelection();
    marked.removeAllRanges();
    marked.addRange(range);
    said = words.marked ?? "The message is marked. Copy it with your usual keys.";
  }
  byId("stop-copied").textContent = said;
});

// The program says what went wrong just before it traps; the trap itself arrives as an uncaught error.
let reason = "";
addEventListener("planeward:panicked", (event) => {
  reason = String(event.detail);
});
const stopOnTrap = (error) => {
  if (error instanceof WebAssembly.RuntimeError || error instanceof RangeError || (reason && error instanceof Error)) {
    stop(reason || String(error));
  }
};
addEventListener("error", (event) => stopOnTrap(event.error));
addEventListener("unhandledrejection", (event) => stopOnTrap(event.reason));

// A module with one function that makes a 128-bit value: an engine that refuses it refuses the program, too.
const VECTORS = new Uint8Array([
  0x00, 0x61, 0x73, 0x6d, 0x01, 0x00, 0x00, 0x00, // magic number, version
  0x01, 0x05, 0x01, 0x60, 0x00, 0x01, 0x7b, // type: nothing to v128
  0x03, 0x02, 0x01, 0x00, // one function of this type
  0x0a, 0x08, 0x01, 0x06, 0x00, 0x41, 0x00, 0xfd, 0x0f, 0x0b, // i32.const 0, i8x16.splat
]);

const { script, wasm } = document.body.dataset;
try {
  if (typeof WebAssembly !== "object") {
    throw new Error("This browser has no WebAssembly, or the page that shows Planeward forbids it.");
  }
  if (!WebAssembly.validate(VECTORS)) {
    throw new Error("This browser is too old for Planeward: its WebAssembly has no vector instructions.");
  }
  // The page as one file brings the program along and says how to start it.
  if (window.planewardLoad) {
    await window.planewardLoad();
  } else {
    const program = await import(new URL(script, document.baseURI).href);
    await program.default({ module_or_path: new URL(wasm, document.baseURI) });
  }
} catch (error) {
  const words = byId("stop-words");
  if (!stopped) {
    words.textContent =
      error instanceof WebAssembly.CompileError
        ? "The page that shows Planeward forbids WebAssembly. Its administrator can allow it with 'wasm-unsafe-eval' in script-src."
        : "The program could not be loaded. Check the connection, then reload.";
    stop(String(error), "Planeward did not start");
  }
}
