"""The measuring programs of the crates in a real Chromium; `cargo xtask bench` runs it.

Arguments: compiled programs (WASI snapshot preview 1), each with its own arguments after a comma.
They print the same lines as natively; this passes them on.
The page they run in is isolated from other origins, because only then does the browser's clock tick every 5 µs instead of every 100.
"""

import functools
import http.server
import pathlib
import sys
import threading

from conftest import FLAGS, ROOT, environment
from playwright.sync_api import sync_playwright

RUN = """
async ([program, args, files]) => {
  if (!crossOriginIsolated) throw new Error('the clock is coarse: the page is not isolated');
  const { run } = await import('./wasi.js');
  const bytes = async name => new Uint8Array(await (await fetch(name)).arrayBuffer());
  const found = new Map();
  for (const name of files) found.set(name, await bytes('bodies/' + name));
  return run(await bytes(program), args, found);
}
"""

# A program measures for seconds; a loaded machine takes its time.
LONGEST_MS = 300_000


class Isolated(http.server.BaseHTTPRequestHandler):
    """Answers with one of the known files; nothing else is reachable."""

    def __init__(self, files, *args):
        self.files = files
        super().__init__(*args)

    def do_GET(self):  # noqa: N802, the library's name
        content = self.files.get(self.path)
        self.send_response(404 if content is None else 200)
        kind = {"js": "text/javascript", "wasm": "application/wasm"}.get(self.path.rsplit(".", 1)[-1], "text/html")
        self.send_header("Content-Type", kind)
        self.send_header("Cross-Origin-Opener-Policy", "same-origin")
        self.send_header("Cross-Origin-Embedder-Policy", "require-corp")
        self.end_headers()
        self.wfile.write(content or b"")

    def log_message(self, *_):
        pass


def main():
    bodies = sorted((ROOT / ".bake").glob("adult_female.*"))
    here = pathlib.Path(__file__).parent
    files = {"/": b"<!doctype html><title>Measuring</title>", "/wasi.js": (here / "wasi.js").read_bytes()}
    files |= {f"/bodies/{path.name}": path.read_bytes() for path in bodies}
    programs = [argument.split(",") for argument in sys.argv[1:]]
    files |= {f"/{i}.wasm": pathlib.Path(path).read_bytes() for i, (path, *_) in enumerate(programs)}
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Isolated, files))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=environment("PLANEWARD_CHROMIUM"), args=FLAGS)
            for i, (_, *args) in enumerate(programs):
                page = browser.new_page()
                page.set_default_timeout(LONGEST_MS)
                page.goto(f"http://127.0.0.1:{server.server_port}/")
                names = [path.name for path in bodies]
                print(page.evaluate(RUN, [f"{i}.wasm", ["bench", *args], names]), end="", flush=True)
                page.close()
            browser.close()
    finally:
        server.shutdown()


if __name__ == "__main__":
    main()
