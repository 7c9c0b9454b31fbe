"""A headless Chromium, driven through its debugging pipe: no library beyond Python's own."""
import base64
import json
import os
import select
import shutil
import subprocess
import tempfile
import time


def find():
    """Path of the browser, or None."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


class Browser:
    """One browser with one page. Everything that the page logs or throws is kept in `complaints`."""

    def __init__(self, timeout_s=60):
        self.timeout_s = timeout_s
        self.home = tempfile.mkdtemp(prefix="loomproof-browser.")
        to_read, self._write = os.pipe()
        self._read, to_write = os.pipe()

        def pipes():  # the browser reads commands from 3 and answers on 4
            a, b = os.dup(to_read), os.dup(to_write)
            os.dup2(a, 3)
            os.dup2(b, 4)

        # No sandbox: containers of CI run as root. Proxy to nowhere: a page that asks the network is found out.
        self._process = subprocess.Popen(
            [find(), "--headless=new", "--remote-debugging-pipe", "--no-sandbox", "--disable-gpu",
             "--disable-dev-shm-usage", "--hide-scrollbars", "--no-first-run", "--disable-extensions",
             "--proxy-server=127.0.0.1:9", "--force-color-profile=srgb", "--user-data-dir=" + self.home, "about:blank"],
            preexec_fn=pipes, close_fds=False, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL)
        os.close(to_read)
        os.close(to_write)
        self._buffer = b""
        self._number = 0
        self.events = []
        self.complaints = []
        self.requests = []
        self._session = None
        target = self.call("Target.createTarget", {"url": "about:blank"})["targetId"]
        self._session = self.call("Target.attachToTarget", {"targetId": target, "flatten": True})["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(domain + ".enable")

    def close(self):
        self._process.kill()
        self._process.wait()
        os.close(self._write)
        os.close(self._read)
        shutil.rmtree(self.home, ignore_errors=True)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def _message(self, deadline):
        while b"\0" not in self._buffer:
            ready, _, _ = select.select([self._read], [], [], max(0, deadline - time.monotonic()))
            if not ready:
                raise TimeoutError("the browser does not answer")
            piece = os.read(self._read, 1 << 20)
            if not piece:
                raise EOFError("the browser is gone")
            self._buffer += piece
        head, self._buffer = self._buffer.split(b"\0", 1)
        return json.loads(head)

    def _keep(self, event):
        self.events.append(event)
        method, what = event["method"], event.get("params", {})
        if method == "Runtime.exceptionThrown":
            details = what["exceptionDetails"]
            self.complaints.append(details.get("exception", {}).get("description", details["text"]))
        elif method == "Runtime.consoleAPICalled":
            self.complaints.append("console." + what["type"] + ": " + str([a.get("value") for a in what["args"]]))
        elif method == "Log.entryAdded":
            self.complaints.append(what["entry"]["level"] + ": " + what["entry"]["text"])
        elif method == "Network.requestWillBeSent":
            self.requests.append(what["request"]["url"])

    def call(self, method, parameters=None):
        self._number += 1
        message = {"id": self._number, "method": method, "params": parameters or {}}
        if self._session:
            message["sessionId"] = self._session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self._write, data):]
        deadline = time.monotonic() + self.timeout_s
        while True:
            answer = self._message(deadline)
            if "method" in answer:
                self._keep(answer)
            elif answer.get("id") == self._number:
                if "error" in answer:
                    raise RuntimeError(method + ": " + answer["error"]["message"])
                return answer["result"]

    def open(self, path):
        """Loads a file and waits until it has loaded."""
        self.events.clear()
        self.call("Page.navigate", {"url": "file://" + os.path.abspath(path)})
        deadline = time.monotonic() + self.timeout_s
        while not any(e["method"] == "Page.loadEventFired" for e in self.events):
            message = self._message(deadline)
            if "method" in message:
                self._keep(message)
        self.look("document.readyState")

    def look(self, expression):
        """Value of an expression in the page."""
        answer = self.call("Runtime.evaluate", {"expression": expression, "returnByValue": True, "awaitPromise": True})
        if "exceptionDetails" in answer:
            raise RuntimeError(expression + ": " + str(answer["exceptionDetails"]))
        return answer["result"].get("value")

    def size(self, width, height, scale=1, mobile=False):
        self.call("Emulation.setDeviceMetricsOverride",
                  {"width": width, "height": height, "deviceScaleFactor": scale, "mobile": mobile})

    def media(self, kind="", dark=False):
        self.call("Emulation.setEmulatedMedia", {"media": kind, "features": [
            {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]})

    def point_of(self, selector, nth=0):
        """Middle of an element in the window, scrolled to."""
        place = self.look(
            "(() => { const e = document.querySelectorAll(%s)[%d]; if (!e) return null; "
            "e.scrollIntoView({block: 'center', inline: 'center'}); const b = e.getBoundingClientRect(); "
            "return [b.left + b.width / 2, b.top + b.height / 2]; })()" % (json.dumps(selector), nth))
        if place is None:
            raise LookupError(selector)
        return place

    def move(self, x, y):
        self.call("Input.dispatchMouseEvent", {"type": "mouseMoved", "x": x, "y": y})

    def press(self, x, y):
        self.move(x, y)
        for kind in ("mousePressed", "mouseReleased"):
            self.call("Input.dispatchMouseEvent", {"type": kind, "x": x, "y": y, "button": "left", "clickCount": 1})

    def click(self, selector, nth=0):
        self.press(*self.point_of(selector, nth))

    def key(self, name):
        codes = {"Tab": 9, "Enter": 13, "Escape": 27, "ArrowLeft": 37, "ArrowRight": 39, "ArrowDown": 40, "ArrowUp": 38}
        what = {"key": name, "code": name, "windowsVirtualKeyCode": codes[name]}
        if name == "Enter":
            what["text"] = "\r"
        self.call("Input.dispatchKeyEvent", dict(what, type="keyDown"))
        self.call("Input.dispatchKeyEvent", dict(what, type="keyUp"))

    def picture(self, path, whole=False):
        answer = self.call("Page.captureScreenshot", {"format": "png", "captureBeyondViewport": whole, **(
            {"clip": {"x": 0, "y": 0, "scale": 1, "width": self.look("document.documentElement.scrollWidth"),
                      "height": self.look("document.documentElement.scrollHeight")}} if whole else {})})
        with open(path, "wb") as file:
            file.write(base64.b64decode(answer["data"]))

    def pdf(self, **options):
        """The page printed: bytes of a PDF."""
        settings = {"printBackground": False, "paperWidth": 8.27, "paperHeight": 11.69, "preferCSSPageSize": True}
        return base64.b64decode(self.call("Page.printToPDF", {**settings, **options})["data"])
