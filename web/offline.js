// Has the page kept for use without a network, and says when a newer version is ready.
//
// Not in a frame: there the browser would keep it apart for every page around it, or refuse. Not where data is counted.
// A page whose body names no worker, as in a package for a course system, keeps nothing.

const worker = document.body.dataset.worker;
const notice = document.getElementById("update");
const root = document.documentElement;
let asked = false;
let waiting = null;

function offer(found) {
  waiting = found;
  root.dataset.offline = "update";
  notice.hidden = false;
}

// The worker's first version takes over by itself; a later one only when it was asked for, here or in another window.
function follow(registration) {
  const look = (installing) => {
    if (!installing) return;
    const hear = () => {
      if (installing.state === "installed" && registration.active) offer(installing);
      if (installing.state === "activated") root.dataset.offline = "ready";
    };
    installing.addEventListener("statechange", hear);
    hear();
  };
  if (registration.waiting && registration.active) offer(registration.waiting);
  else if (registration.active) root.dataset.offline = "ready";
  look(registration.installing);
  registration.addEventListener("updatefound", () => look(registration.installing));
}

async function begin() {
  const controlled = Boolean(navigator.serviceWorker.controller);
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (asked) location.reload();
    else if (controlled) offer(null);
  });
  try {
    follow(await navigator.serviceWorker.register(worker, { updateViaCache: "none" }));
  } catch {
    // Storage is full or forbidden, or a file did not arrive: the page works as before, with the network.
    root.dataset.offline = "none";
  }
}

document.getElementById("update-take").addEventListener("click", () => {
  asked = true;
  if (waiting && waiting.state !== "redundant") waiting.postMessage("take over");
  else location.reload();
});
document.getElementById("update-later").addEventListener("click", () => {
  notice.hidden = true;
});

const counted = navigator.connection?.saveData === true;
if (worker && !counted && window.top === window && "serviceWorker" in navigator && window.isSecureContext) {
  if (document.readyState === "complete") begin();
  else addEventListener("load", begin);
}
