"""Pictures in animation frames of a real Chromium, beside the same model in plain JavaScript; `cargo xtask bench` runs it.

Arguments: the compiled program that draws on demand, the folder of the packages of the peer, and how many windows to
go on by (1 measures all).
"""

import functools
import http.server
import pathlib
import sys
import threading

from conftest import FLAGS, ROOT, environment
from measure_kernels import Isolated
from playwright.sync_api import sync_playwright

PAGE = b"""<!doctype html><title>Measuring</title>
<script type="importmap">{"imports": {"three": "/three.module.js", "three-mesh-bvh": "/bvh.js"}}</script>
<body>"""

RUN = """
async ([files, every]) => {
  if (!crossOriginIsolated) throw new Error('the clock is coarse: the page is not isolated');
  const { measure } = await import('./measure_frames.js');
  const bytes = async name => new Uint8Array(await (await fetch(name)).arrayBuffer());
  const found = new Map();
  for (const name of files) found.set(name, await bytes('bodies/' + name));
  return measure(await bytes('program.wasm'), found, every);
}
"""

# It goes by frames, so it takes as long natively fast or slow.
LONGEST_MS = 600_000


def main():
    program, packages, every = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]), int(sys.argv[3])
    here = pathlib.Path(__file__).parent
    bodies = sorted((ROOT / ".bake").glob("adult_female.*"))
    files = {"/": PAGE, "/program.wasm": program.read_bytes()}
    files |= {f"/{name}": (here / name).read_bytes() for name in ("wasi.js", "plain_picture.js", "measure_frames.js")}
    files |= {f"/plain/{path.name}": path.read_bytes() for path in (here / "plain").glob("*.js")}
    files |= {f"/{path.name}": path.read_bytes() for path in (packages / "three/build").glob("three.*.js")}
    files["/bvh.js"] = (packages / "three-mesh-bvh/build/index.module.js").read_bytes()
    files |= {f"/bodies/{path.name}": path.read_bytes() for path in bodies}
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Isolated, files))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=environment("PLANEWARD_CHROMIUM"), args=FLAGS)
            page = browser.new_page()
            page.set_default_timeout(LONGEST_MS)
            page.on("pageerror", lambda error: print(error, file=sys.stderr))
            page.goto(f"http://127.0.0.1:{server.server_port}/")
            print(page.evaluate(RUN, [[path.name for path in bodies], every]), end="", flush=True)
            browser.close()
    finally:
        server.shutdown()


if __name__ == "__main__":
    main()
