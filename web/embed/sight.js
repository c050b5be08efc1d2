// Gives the body view's WebGL context back while nobody sees it, and shows a still picture in its place.
//
// A browser keeps some sixteen contexts for all frames of a page and takes the oldest away without asking. A course page
// with a view under every heading would soon show black boxes; so a view that is out of sight rests, and one whose
// context was taken away shows what it showed last.

// Rest after the last drawing before the still is taken; taking one costs a copy of the whole view.
const REST_MS = 300;

let canvas = null;
let still = null;
let loss = null;
let timer = 0;
let seen = true;
let paused = false;
let resting = false;

const draw = () => document.dispatchEvent(new Event("planeward:redraw"));

const lost = () => canvas.getContext("webgl2")?.isContextLost() ?? true;

// The drawing buffer holds the picture only until the browser shows it, so it is drawn and copied in one go.
const keep = () => {
  if (!canvas?.isConnected || lost() || canvas.width < 2) return;
  draw();
  still.width = canvas.width;
  still.height = canvas.height;
  still.getContext("2d").drawImage(canvas, 0, 0);
  still.dataset.kept = "";
};

const show = (isStill) => {
  canvas.classList.toggle("resting", isStill);
  still.hidden = !isStill;
  document.documentElement.dataset.bodyView = isStill ? "still" : "live";
  const words = document.getElementById("still-words");
  if (words) words.hidden = !isStill || resting;
};

const rest = () => {
  if (resting || !loss || lost()) return;
  clearTimeout(timer);
  keep();
  resting = true;
  loss.loseContext();
};

const wake = () => {
  if (!resting) return;
  resting = false;
  loss.restoreContext();
};

const settle = () => (seen && !paused ? wake() : rest());

// A view can be replaced by another one in the same page; only the last is followed.
let left = new AbortController();

const follow = (element) => {
  left.abort();
  left = new AbortController();
  const { signal } = left;
  clearTimeout(timer);
  resting = false;
  seen = true;
  canvas = element;
  loss = canvas.getContext("webgl2")?.getExtension("WEBGL_lose_context") ?? null;
  if (!loss) return;
  still = document.createElement("canvas");
  still.className = "still";
  still.hidden = true;
  still.setAttribute("aria-hidden", "true");
  canvas.after(still);
  document.documentElement.dataset.bodyView = "live";
  canvas.addEventListener("webglcontextlost", () => show(true), { signal });
  canvas.addEventListener(
    "webglcontextrestored",
    () => {
      show(false);
      // Seen or not may have changed while the context came back.
      settle();
    },
    { signal },
  );
  document.addEventListener(
    "planeward:drawn",
    () => {
      clearTimeout(timer);
      timer = setTimeout(keep, REST_MS);
    },
    { signal },
  );
  const sight = new IntersectionObserver((entries) => {
    seen = entries[entries.length - 1].isIntersecting;
    settle();
  });
  sight.observe(canvas);
  signal.addEventListener("abort", () => {
    sight.disconnect();
    // The browser counts contexts of views that are gone until it gets round to clearing up.
    if (!resting) loss?.loseContext();
  });
};

document.addEventListener("planeward:ask", (event) => {
  if (event.detail.type !== "pause" || !canvas) return;
  paused = event.detail.text === "true";
  settle();
});

// The program puts its canvas into the page once it has started.
document.addEventListener("planeward:body-view", () => {
  const found = document.getElementById("body-canvas");
  if (found && found !== canvas) follow(found);
});
