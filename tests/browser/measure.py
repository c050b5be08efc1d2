"""How fast the built page is in a real Chromium; `cargo xtask bench` runs it.

Not a test: it asserts nothing, because times depend on the machine.
The work of every animation frame is timed from outside by wrapping `requestAnimationFrame`, so the page carries no hook for it.
Work is the time on the page's own thread from pose to pixels (section, picture, labels, text, drawing calls); the drawing itself happens in software in another process here and shows only in the frame interval.
"""

import math
import statistics
import sys

from conftest import FLAGS, Server, environment
from playwright.sync_api import sync_playwright
from scene import BODY, DIAL, PICTURE, box, open_scan, settle

WRAP = """
(() => {
  const ask = window.requestAnimationFrame.bind(window);
  window.frames_measured = [];
  window.requestAnimationFrame = callback => ask(time => {
    const start = performance.now();
    callback(time);
    window.frames_measured.push([time, performance.now() - start]);
  });
  const listen = EventTarget.prototype.addEventListener;
  window.moves_measured = [];
  EventTarget.prototype.addEventListener = function (name, heard, ...rest) {
    if (name !== 'pointermove' || typeof heard !== 'function') return listen.call(this, name, heard, ...rest);
    return listen.call(this, name, function (event) {
      const start = performance.now();
      heard.call(this, event);
      window.moves_measured.push(performance.now() - start);
    }, ...rest);
  };
})();
"""

# The pointer waits for the frame it caused, so this is the number of frames too.
MOVES = 100


def circle(page, selector, radius):
    """Pointer positions on a circle in an element; the radius is a share of its smaller half."""
    area = box(page, selector)
    x, y = area["x"] + area["width"] / 2, area["y"] + area["height"] / 2
    reach = radius * min(area["width"], area["height"]) / 2
    for i in range(MOVES):
        turn = 2 * math.pi * i / 50
        yield x + reach * math.sin(turn), y - reach * math.cos(turn)


def drag(page, positions):
    """Frame times in ms and frame work in ms while the pointer goes through the positions."""
    page.mouse.move(*next(positions))
    page.mouse.down()
    page.evaluate("window.frames_measured.length = 0")
    for position in positions:
        page.mouse.move(*position)
    frames = page.evaluate("window.frames_measured.slice()")
    page.mouse.up()
    settle(page)
    starts = [start for start, _ in frames]
    return [b - a for a, b in zip(starts, starts[1:])], [work for _, work in frames]


def hover(page, positions):
    """Work in ms of each move of a pointer that names what it is over: its event and the frame after it."""
    page.mouse.move(*next(positions))
    settle(page)
    work = []
    for position in positions:
        page.evaluate("() => { window.frames_measured.length = 0; window.moves_measured.length = 0; }")
        page.mouse.move(*position)
        page.wait_for_function("() => window.moves_measured.length && window.frames_measured.length")
        moves, frames = page.evaluate("[window.moves_measured, window.frames_measured.map(([, work]) => work)]")
        work.append(sum(moves) + sum(frames))
    return work


def percentile(values, share):
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, math.floor(share * len(ordered)))]


def row(name, values):
    if len(values) < 10:
        sys.exit(f"{name}: only {len(values)} frames were drawn; the drag did not reach the page")
    print(f"  {name:<40}{statistics.median(values):>10.2f}{percentile(values, 0.99):>10.2f}{len(values):>8}", flush=True)


def main():
    server = Server()
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=environment("PLANEWARD_CHROMIUM"), args=FLAGS)
            page = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
            page.add_init_script(WRAP)
            open_scan(page, server.url)
            ready = page.evaluate("performance.now()")
            print(f"  {browser.version}, 1280 x 800, software drawing; whole body shown after {ready / 1000:.1f} s")
            print(f"  {'ms':<40}{'median':>10}{'p99':>10}{'frames':>8}")
            for name, positions in (("dial turned", circle(page, DIAL, 0.7)), ("view turned", circle(page, BODY, 0.5))):
                intervals, work = drag(page, positions)
                row(f"{name}: work of a frame", work)
                row(f"{name}: frame to frame", intervals)
            row("picture pointed at: work of a move", hover(page, circle(page, PICTURE, 0.5)))
            browser.close()
    finally:
        server.stop()


if __name__ == "__main__":
    main()
