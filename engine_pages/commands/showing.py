"""Show a built site in the browser: from an address of this machine alone, since search does not run from a file."""

import threading
import webbrowser
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path


class _Quiet(SimpleHTTPRequestHandler):
    """Serves a folder and says nothing: who looks is the one who asked."""

    def log_message(self, format: str, *args: object) -> None:
        """No line for each request."""


def show_site(folder: Path) -> tuple[str, threading.Thread] | None:
    """Serve a folder on 127.0.0.1 and open it. The address and the thread that serves it; None without a browser."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(_Quiet, directory=str(folder)))
    serving = threading.Thread(target=server.serve_forever, daemon=True)
    serving.start()
    address = f"http://127.0.0.1:{server.server_address[1]}/index.html"
    if webbrowser.open(address):
        return address, serving
    server.shutdown()
    server.server_close()
    return None
