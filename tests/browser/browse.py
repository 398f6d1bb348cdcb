"""The panel as a reader has it: its server, a real browser on it, what can be seen and pressed, and waits for what is to come.

Nothing waits for a fixed time: every wait is for something that can be seen, and says what did not come.
"""

import re
import shutil
import signal
import subprocess
import time

from selenium.common.exceptions import NoSuchElementException, StaleElementReferenceException
from selenium.webdriver import ActionChains, Chrome, ChromeOptions, ChromeService, Keys
from selenium.webdriver.common.by import By
from selenium.webdriver.support.select import Select

# Longest wait, s: a machine that compiles beside this is slow, and what works comes within one.
LIMIT = 20
# Between two looks, s.
LOOK = 0.03
CLOCK = re.compile(r"^([\d.]+) s · (.*) · lamp (.*) · (.*)$")


class Wrong(Exception):
    """A claim does not hold; the text says what was seen in place of it."""


def hold(fits, else_says):
    if not fits:
        raise Wrong(else_says)


def wait(what, condition):
    """The first value of the condition that is not nothing. What is put in place anew while it is read is read again."""
    end = time.monotonic() + LIMIT
    while True:
        try:
            if value := condition():
                return value
        except (StaleElementReferenceException, NoSuchElementException):
            pass
        if time.monotonic() > end:
            raise Wrong(f"waited {LIMIT} s for this in vain: {what}")
        time.sleep(LOOK)


class Server:
    """The program, with a run of its own at time 0."""

    def __init__(self, program, *words, port=0):
        command = [program, "panel", "mild_hatchback", "--port", str(port), *words]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        self.address = self.process.stdout.readline().strip()
        hold(self.address.startswith("http://127.0.0.1:"), f"the program printed `{self.address}` in place of its address")
        self.port = int(self.address.rstrip("/").rsplit(":", 1)[1])

    def stop(self):
        self.process.send_signal(signal.SIGINT)
        try:
            self.process.wait(LIMIT)
        finally:
            self.process.kill()
            self.process.stdout.close()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.stop()


def browser(downloads):
    """Headless, as the distribution has it; nothing is fetched to drive it."""
    driver, program = shutil.which("chromedriver"), shutil.which("chromium")
    hold(driver and program, "chromium and chromedriver are wanted on the path (packages chromium, chromium-driver)")
    options = ChromeOptions()
    options.binary_location = program
    for word in ["--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--window-size=1400,1100"]:
        options.add_argument(word)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    options.add_experimental_option("prefs", {"download.default_directory": str(downloads), "download.prompt_for_download": False})
    made = Chrome(options=options, service=ChromeService(driver))
    made.set_script_timeout(LIMIT)
    return made


class Page:
    """One window on the panel."""

    def __init__(self, driver, address):
        self.driver = driver
        self.address = address
        # A page that was left running complains once its server is gone.
        driver.get("about:blank")
        self.complaints()
        driver.get(address)
        wait("a first frame", lambda: self.text("#clock"))
        wait("the views", lambda: self.views())
        # Read last by the page when it begins: from here on every button has its meaning.
        wait("the faults to choose from", lambda: self.js("return document.querySelector('#fault').value"))

    def js(self, script, *words):
        return self.driver.execute_script(script, *words)

    def one(self, css):
        return self.driver.find_element(By.CSS_SELECTOR, css)

    def text(self, css):
        """What a reader sees there first; nothing where it is not shown."""
        return next(iter(self.texts(css)), "")

    def texts(self, css):
        return self.js("""
            const shown = [...document.querySelectorAll(arguments[0])].filter((one) => one.checkVisibility());
            return shown.map((one) => (one.innerText ?? one.textContent).trim());""", css)

    def count(self, css):
        return self.js("return document.querySelectorAll(arguments[0]).length", css)

    def press(self, words, within="body"):
        """The button with these words on it, pressed where it is."""
        path = f'.//button[normalize-space()="{words}"]'

        def done():
            self.one(within).find_element(By.XPATH, path).click()
            return True

        wait(f"a button `{words}` to press", done)

    def views(self):
        return self.texts("[role=tab]")

    def view(self, name):
        self.press(name, "[role=tablist]")
        wait(f"the view {name}", lambda: self.text(f'[data-tab="{name}"]'))

    def clock(self):
        """Time in s, where the order is, lamp, pace."""
        parts = CLOCK.match(self.text("#clock"))
        hold(parts, f"the clock line says `{self.text('#clock')}`")
        return float(parts[1]), parts[2], parts[3], parts[4]

    def t(self):
        return self.clock()[0]

    def runs(self):
        return self.text("#run") == "Stop"

    def speed(self, value):
        Select(self.one("#speed")).select_by_value(value)

    def jump(self, to):
        """On to the next of these, until it stands still there."""
        t = self.t()
        self.press(to, "nav")
        wait(f"the next {to} after {t} s", lambda: self.t() > t and not self.runs())

    def scan(self):
        t = self.t()
        self.press("One scan", "nav")
        wait(f"a scan after {t} s", lambda: self.t() > t)

    def jump_over(self, seconds):
        """Runs for at least so long, at 100 x, and stands still."""
        to = self.t() + seconds
        self.speed("100")
        self.press("Run", "nav")
        wait(f"the clock at {to} s", lambda: self.t() >= to)
        self.press("Stop", "nav")
        wait("it to stand", lambda: not self.runs())

    def jump_into(self, phase):
        for _ in range(30):
            if self.clock()[1].split(" / ")[0] == phase:
                return
            self.jump("phase")
        raise Wrong(f"no phase {phase} in thirty jumps: {self.text('#clock')}")

    def to_the_end(self):
        self.speed("0")
        self.press("Run", "nav")
        wait("the end of the run", lambda: self.clock()[3] in ("over", "broken"))

    def act(self, words):
        """As the operator; done in the next scan."""
        self.view("Operator")
        deeds = self.deeds_now()
        self.press(words, "#acts")
        wait(f"`{words}` among what was done", lambda: self.deeds_now() > deeds)

    def deeds_now(self):
        return self.count("#deeds li")

    def deeds(self):
        self.view("Ledger")
        return self.texts("#deeds li")

    def break_now(self, fault):
        self.view("Faults")
        Select(self.one("#fault")).select_by_value(fault)
        self.press("Break it now", '[data-tab="Faults"]')
        wait(f"{fault} in the list of this run", lambda: any(fault in one for one in self.texts("#faults li")))

    def row(self, row):
        """State and count of a row of the table, which must be in view."""
        cells = self.texts("#rows tr")
        at = [number for number, text in enumerate(cells) if text.startswith(row)]
        hold(len(at) == 1, f"{len(at)} rows {row} in the view of interlocks")
        shown = f"#rows tr:nth-child({at[0] + 1}) td"
        return self.text(f"{shown}:nth-child(2)"), self.text(f"{shown}:nth-child(3)")

    def tripped(self):
        self.view("Interlocks")
        return [text.split(":")[0] for text in self.texts("#rows tr") if "\ttripped" in text]

    def hash(self):
        self.view("Ledger")
        return self.text("#hash")

    def keys(self, *keys):
        ActionChains(self.driver).send_keys(*keys).perform()

    def tab_to(self, css):
        """By the tab key alone, from wherever the focus is."""
        for _ in range(150):
            self.keys(Keys.TAB)
            if self.js("return document.activeElement.matches(arguments[0])", css):
                return
        raise Wrong(f"the tab key does not come to {css}")

    def size(self, width, height, scale=1):
        how = {"width": width, "height": height, "deviceScaleFactor": scale, "mobile": False}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", how)
        wait(f"a page of {width} x {height}", lambda: self.js("return [innerWidth, innerHeight]") == [width, height])

    def own_size(self):
        self.driver.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})

    def colours(self, scheme):
        features = [{"name": "prefers-color-scheme", "value": scheme}]
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})

    def complaints(self):
        """What the browser complained of since it was asked last: errors of scripts, refusals by the page's policy, failed loads."""
        return [one["message"] for one in self.driver.get_log("browser") if one["level"] == "SEVERE"]

    def no_complaints(self):
        found = self.complaints()
        hold(not found, f"the browser complains: {'; '.join(found)[:400]}")
