"""Pages of another host that hold a view in a frame, as a course page would."""

import contextlib
import http.server
import threading

# To a browser, `localhost` and `127.0.0.1` are different sites, and one machine can be both.
OTHER_SITE = "localhost"
SAME_SITE = "127.0.0.1"


class Pages:
    """A small host: `pages["/a.html"] = "…"` and then `url("/a.html")`."""

    def __init__(self, name: str):
        pages: dict[str, str] = {}

        class Handler(http.server.BaseHTTPRequestHandler):
            def do_GET(self):
                text = pages.get(self.path.split("?")[0])
                self.send_response(404 if text is None else 200)
                self.send_header("Content-Type", "text/html; charset=utf-8")
                self.end_headers()
                self.wfile.write((text or "").encode())

            def log_message(self, *_):
                pass

        self.pages = pages
        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.origin = f"http://{name}:{self.server.server_port}"

    def put(self, path: str, body: str) -> str:
        """A page with this body; returns its address."""
        self.pages[path] = f'<!doctype html><html lang="en"><title>Course page</title><link rel="icon" href="data:,"><body>{body}</body></html>'
        return self.origin + path


@contextlib.contextmanager
def course(name: str = OTHER_SITE):
    pages = Pages(name)
    thread = threading.Thread(target=pages.server.serve_forever, daemon=True)
    thread.start()
    try:
        yield pages
    finally:
        pages.server.shutdown()
        pages.server.server_close()
        thread.join()


# Keeps every message that reaches the course page, and lets a test speak through a port.
HOST_SCRIPT = """
<script>
  window.heard = [];
  window.answers = [];
  addEventListener('message', (event) => heard.push(event.data));
  function hello(frame, target, more) {
    const channel = new MessageChannel();
    channel.port1.onmessage = (event) => answers.push(event.data);
    window.port = channel.port1;
    frame.contentWindow.postMessage({ ns: 'planeward', v: 1, type: 'hello', ...more }, target, [channel.port2]);
  }
  function say(type, body) { port.postMessage({ ns: 'planeward', v: 1, type, body }); }
</script>
"""


def frame(site: str, fragment: str, *, sandbox: str | None = None, width: int = 640, height: int = 480, name: str = "view") -> str:
    """The lines of a frame as the snippet for authors writes them."""
    box = "" if sandbox is None else f' sandbox="{sandbox}"'
    return (
        f'<iframe id="{name}" src="{site}embed.html#{fragment}" title="A view" width="{width}" height="{height}"'
        f' style="border:0" allow="fullscreen; clipboard-write" referrerpolicy="strict-origin"{box}></iframe>'
    )
