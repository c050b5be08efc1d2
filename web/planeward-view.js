// <planeward-view>: a Planeward view in any page.
//
//   <script type="module" src="https://HOST/planeward-view.js"></script>
//   <planeward-view src="https://HOST/embed.html#v1.body=adult_female&window=…" title="The aorta in long axis">
//     <a href="https://HOST/embed.html#v1.body=…">The aorta in long axis</a>
//   </planeward-view>
//
// Attributes
//   src     address of embed.html with what is shown behind its #; else beside this script
//   view    a view as a copied link holds it, v1.…; goes before what src says      set    an exercise set, s1.…
//   show    both, body, picture                              open    none, look, notch, all
//   theme   auto, light, dark                                lang    a language tag; else the reader's
//   grey    0 to 100                                         text    folded, hidden
//   height  pixels; without it the view takes what it needs  title   name of the frame, read aloud
//   wants   words of: view progress answers results; what the view may tell this page
//
// Events, each with its details in event.detail: planeward-ready, planeward-view, planeward-progress,
// planeward-item-answered, planeward-completed, planeward-results, planeward-error. Nothing about the learner is told
// unless `wants` asks for it. What stands inside the element is shown until the view is there, and when it cannot be.
(() => {
  "use strict";
  const NS = "planeward";
  const VERSION = 1;
  const NO_ANSWER_MS = 30_000;
  const LEAST_PX = 100;
  const MOST_PX = 5000;
  // The parts of a view in a link.
  const VIEW_KEYS = /^(body|window|at|out|turn|tilt|rock|press|probe|depth|mark|apex|tol|lie|seat)=/;
  const PASSED_ON = ["show", "open", "theme", "lang", "grey", "text"];
  const beside = document.currentScript?.src;

  class PlanewardView extends HTMLElement {
    static observedAttributes = ["src", "view", "set", "height", "title", ...PASSED_ON];

    #frame = null;
    #port = null;
    #timer = 0;

    connectedCallback() {
      if (!this.shadowRoot) this.attachShadow({ mode: "open" });
      this.#build();
    }

    disconnectedCallback() {
      this.#hangUp();
      this.shadowRoot.replaceChildren();
      this.#frame = null;
    }

    attributeChangedCallback(name, old, now) {
      if (!this.#frame || old === now) return;
      if (name === "title") this.#frame.title = this.#label();
      else if (name === "height" && this.#fixed() !== null) this.#frame.style.height = `${this.#fixed()}px`;
      else if (name === "theme") this.#send("set-theme", { theme: now ?? "auto" });
      else if (name === "lang" && now && this.#port) this.#send("set-locale", { lang: now });
      else if (name === "view" && now !== null && this.#port) this.#send("set-view", { view: now });
      else if (name === "set" && now !== null && this.#port) this.#send("load-set", { set: now });
      else this.#build();
    }

    /** Shows another view: what a copied link holds behind its #. */
    setView(view) {
      this.setAttribute("view", view);
    }

    /** Plays another set: what a set's link holds behind its # (s1.…), or the text of a set file. */
    loadSet(set) {
      this.#send("load-set", { set });
    }

    /** Asks for the results so far; they come as `planeward-results` if `wants` names them. */
    requestResults() {
      this.#send("request-results", {});
    }

    /** Draws still (true) or live again (false). */
    pause(paused) {
      this.#send("pause", { paused: Boolean(paused) });
    }

    #label() {
      return this.getAttribute("title") ?? "Planeward view";
    }

    #fixed() {
      const height = Number.parseFloat(this.getAttribute("height") ?? "");
      return Number.isFinite(height) ? Math.min(Math.max(height, LEAST_PX), MOST_PX) : null;
    }

    #address() {
      const page = this.getAttribute("src") ?? (beside ? new URL("embed.html", beside).href : null);
      if (!page) return null;
      const address = new URL(page, document.baseURI);
      const given = address.hash.replace(/^#/, "").split("&").filter(Boolean);
      const own = new Map();
      for (const name of PASSED_ON) if (this.hasAttribute(name)) own.set(name, this.getAttribute(name));
      if (this.#fixed() === null) own.set("height", "auto");
      // A page in a sandbox or from a disk has no origin that could be named.
      if (location.origin !== "null") own.set("host", location.origin);
      const first = (this.getAttribute("view") ?? this.getAttribute("set"))?.replace(/^#/, "");
      const isShown = (part) => /^(v1|s1)\.|^src=/.test(part) || VIEW_KEYS.test(part);
      const kept = given.filter((part) => !own.has(part.split("=")[0]) && !(first && isShown(part)));
      const added = Array.from(own, ([name, value]) => `${name}=${encodeURIComponent(value)}`);
      address.hash = [...(first ? [first] : []), ...kept, ...added].join("&");
      return address;
    }

    #build() {
      this.#hangUp();
      const address = this.#address();
      if (!address) return this.#fail("there is no src, and the script was not loaded from beside embed.html");
      const frame = document.createElement("iframe");
      frame.title = this.#label();
      frame.allow = "fullscreen; clipboard-write";
      frame.referrerPolicy = "strict-origin";
      frame.loading = "lazy";
      frame.style.cssText = "display:block;width:100%;border:0;";
      frame.style.height = `${this.#fixed() ?? 480}px`;
      frame.addEventListener("load", () => this.#greet(frame, address));
      frame.src = address.href;
      const hidden = document.createElement("div");
      hidden.hidden = true;
      // What the author wrote inside stays for readers without scripts, and comes back when there is no answer.
      hidden.append(document.createElement("slot"));
      this.shadowRoot.replaceChildren(frame, hidden);
      this.#frame = frame;
    }

    #greet(frame, address) {
      if (frame !== this.#frame || !frame.contentWindow) return;
      const { port1, port2 } = new MessageChannel();
      this.#hangUp();
      this.#port = port1;
      port1.onmessage = (event) => this.#hear(event.data);
      const wants = (this.getAttribute("wants") ?? "").split(/\s+/).filter(Boolean);
      if (this.#fixed() === null) wants.push("height");
      frame.contentWindow.postMessage({ ns: NS, v: VERSION, type: "hello", wants }, address.origin, [port2]);
      this.#timer = setTimeout(() => this.#fail("the view did not answer"), NO_ANSWER_MS);
    }

    #hear(message) {
      if (message?.ns !== NS || message.v !== VERSION || typeof message.type !== "string") return;
      clearTimeout(this.#timer);
      if (message.type === "height") {
        const height = Number(message.body?.height);
        if (Number.isFinite(height) && this.#fixed() === null) {
          this.#frame.style.height = `${Math.min(Math.max(height, LEAST_PX), MOST_PX)}px`;
        }
        return;
      }
      const init = { detail: message.body, bubbles: true, composed: true };
      this.dispatchEvent(new CustomEvent(`planeward-${message.type}`, init));
    }

    #send(type, body) {
      this.#port?.postMessage({ ns: NS, v: VERSION, type, body });
    }

    #fail(reason) {
      const shown = document.createElement("slot");
      this.shadowRoot.replaceChildren(shown);
      this.#frame = null;
      const init = { detail: { reason }, bubbles: true, composed: true };
      this.dispatchEvent(new CustomEvent("planeward-error", init));
    }

    #hangUp() {
      clearTimeout(this.#timer);
      this.#port?.close();
      this.#port = null;
    }
  }

  if (!customElements.get("planeward-view")) customElements.define("planeward-view", PlanewardView);
})();
