// In a frame: what a saved file is called, and what to do where none arrives.
//
// A sandboxed frame that may not download drops the file, and nothing tells the page so (HTML Standard, the flag for
// sandboxed downloads; from memory). So every frame says what should have come. Plain script, because a view of the
// program for this takes five times as much of the download.

const TEXT = /^text\/|json$/;

const element = (name, words, more = {}) => Object.assign(document.createElement(name), { textContent: words, ...more });

function copyTo(note, file, [copy, copied, marked]) {
  const field = element("textarea", "", { readOnly: true, hidden: true, ariaLabel: marked });
  const said = element("span", "");
  const onclick = async () => {
    const text = await file.text();
    try {
      await navigator.clipboard.writeText(text);
      said.textContent = copied;
    } catch {
      // Not in this frame; then by hand.
      field.value = text;
      field.hidden = false;
      field.focus();
      field.select();
      said.textContent = marked;
    }
  };
  note.append(element("button", copy, { type: "button", onclick }), field, said);
}

function show([words, file, tab, copy, copied, marked, close]) {
  const note = element("div", "", { className: "update saved" });
  note.append(element("p", words));
  // A course system hears nothing of a page in a tab of its own.
  if (!document.body.dataset.set) note.append(element("a", tab, { href: location.href, target: "_blank", rel: "noopener" }));
  if (TEXT.test(file.type)) copyTo(note, file, [copy, copied, marked]);
  note.append(element("button", close, { type: "button", onclick: () => note.remove() }));
  document.getElementById("saved-place").replaceChildren(note);
}

if (window.parent !== window) document.addEventListener("planeward:saved", (event) => show(event.detail));
