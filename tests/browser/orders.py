"""Claims of the order on the page and of the station's records: changed, refused, begun anew, saved, replayed; seen when the job is over.

Each takes the program, the browser and the folder for what it writes, and raises `Wrong` where it does not hold.
"""

import json
import subprocess

from selenium.webdriver import Keys

from browse import LIMIT, Page, Server, hold, wait
from looks import GRAVE, audit

SHORT = """[order]
phases = ["identify", "recover", "evacuate", "charge"]
charge = "450 g"
evacuate_time = "6 min"
"""


def typed(page, text):
    """In place of the order's text, as somebody types it."""
    field = page.one("#order_text")
    field.click()
    field.send_keys(Keys.CONTROL, "a")
    field.send_keys(text)


def planned(page):
    page.view("Order")
    return page.texts("#plan tr")


def replay(command, out, saved, shown):
    """What `run` says of a saved file; it must have the hash that was shown."""
    first = saved.read_text(encoding="utf-8").splitlines()[0]
    hold(shown and shown in first, f"the page shows {shown}, the file says `{first}`")
    results = out / "replayed_order"
    (results / "result.json").unlink(missing_ok=True)
    words = [command, "run", saved, "--out", results, "--no-report", "--trace", "none", "--force"]
    ran = subprocess.run(words, capture_output=True, text=True, timeout=LIMIT)
    hold((results / "result.json").exists(), f"run ended with {ran.returncode}: {ran.stderr[-300:]}")
    result = json.loads((results / "result.json").read_text(encoding="utf-8"))
    hold(result["trace_hash"] == shown, f"the page shows {shown}, its replay {result['trace_hash']}")
    return result


def an_order_is_changed_begun_anew_saved_and_replayed(program, driver, out):
    saved = out / "played.toml"
    saved.unlink(missing_ok=True)
    with Server(program) as server:
        page = Page(driver, server.address)
        page.jump_over(20)
        plan = planned(page)
        hold(any("leak check" in one and "5 min" in one and "to come" in one for one in plan), f"the plan: {plan}")
        at = page.t()
        for text, words in [
            ("[order]\ncharg = \"450 g\"\n", "order:2:1: unknown key `charg`"),
            ("[order]\ncharge = \"45 kg\"\n", "order:2:10:"),
            ("[order]\n[station]\nnetwork = \"/etc/passwd\"\n", "`station` is out of place"),
            ("[order\n", "broken TOML"),
        ]:
            typed(page, text)
            page.press("Begin anew with this order", "#order_form")
            wait(f"`{words}` beside the text", lambda: words in page.text("#order_words"))
            hold(page.js("return document.querySelector('#order_text').ariaInvalid") == "true", "the text is not marked as wrong")
            hold(page.t() == at, "a wrong order moved the run")
        found = [one for one in audit(page) if one[0] in GRAVE]
        hold(not found, f"the audit of a wrong order finds {found}")
        typed(page, SHORT)
        page.press("Check it", "#order_form")
        wait("no fault in it", lambda: page.text("#order_words") == "Nothing is wrong with this order.")
        hold(page.t() == at, "a check moved the run")
        # By keyboard: tab leaves the text.
        page.tab_to("#order_begin")
        page.keys(Keys.ENTER)
        wait("a new run", lambda: page.t() == 0 and len(page.texts("#plan tr")) == 4)
        wait("what was changed", lambda: "was changed on the panel" in page.text("#order_words"))
        page.to_the_end()
        plan = planned(page)
        hold(all("to come" not in one and "at hand" not in one for one in plan) and any("450 g" in one for one in plan), f"the plan at the end: {plan}")
        found = [one for one in audit(page) if one[0] in GRAVE]
        hold(not found, f"the audit of the order finds {found}")
        shown = page.hash()
        page.one("#save").click()
        wait("the saved file", lambda: saved.exists() and saved.stat().st_size)
        # What was refused with 422, a browser tells as a failed load.
        complaints = [one for one in page.complaints() if "422" not in one]
        hold(not complaints, f"the browser complains: {complaints}")
    text = saved.read_text(encoding="utf-8")
    hold("evacuate_time = \"6 min\"" in text and "20 min" not in text, f"the saved order: {text}")
    result = replay(program, out, saved, shown)
    hold([one["name"] for one in result["phases"]] == ["identify", "recover", "evacuate", "charge"], f"replayed: {result['phases']}")


def an_order_that_stays_says_why(program, driver, out):
    for words, scenario, why in [(("--lesson", "door_opened"), None, "the order is the lesson's"), ((), "monday_morning", "a row of jobs")]:
        with Server(program, *words, scenario=scenario) as server:
            page = Page(driver, server.address)
            page.view("Order")
            wait(f"`{why}`", lambda: why in page.text("#order_words"))
            off = page.js("return ['order_text', 'order_check', 'order_begin'].every((id) => document.getElementById(id).disabled)")
            hold(off, "what cannot be changed can be pressed")
            hold(len(page.texts("#plan tr")) > 3, "its phases are not shown")
            page.no_complaints()


def records_are_seen_when_the_job_is_over(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        page.view("Records")
        wait("an empty store", lambda: "No service is on record yet." in page.text("#services_words"))
        hold(any("power came" in one for one in page.texts("#events li")), f"events: {page.texts('#events li')}")
        hold("none was used" in page.text("#codes"), page.text("#codes"))
        page.to_the_end()
        service = wait("the service", lambda: page.text("#services li"))
        for words in ("1: 2026-01-01 00:00", "done as ordered", "charged", "leak check pass", "recover done"):
            hold(words in service, f"`{words}` is not in `{service}`")
        drier = next(one for one in page.texts("#counters tr") if "F-1" in one)
        hold("0.000 kg" not in drier, f"after a recovery: {drier}")
        found = [one for one in audit(page) if one[0] in GRAVE]
        hold(not found, f"the audit of the records finds {found}")
        page.view("Upkeep")
        wait("what is due", lambda: len(page.texts("#due tr")) > 5)
        page.no_complaints()


def the_present_margin_falls_and_comes_back(program, driver, out):
    def airless(page):
        page.view("Hazards")
        row = next(one for one in page.texts("#hazards tr") if one.startswith("H22"))
        return row.split("\t")[2:]

    with Server(program) as server:
        page = Page(driver, server.address)
        page.speed("1000")
        page.jump_into("recover")
        page.jump_over(30)
        hold(airless(page)[0] == "1.00", f"with the door shut: {airless(page)}")
        # Without its row nothing stops when the door opens.
        page.view("Interlocks")
        page.one("#rows input[aria-label='I28 is there']").click()
        page.act("open door")
        for _ in range(20):
            page.scan()
        low = float(airless(page)[0])
        hold(0.5 < low < 0.99, f"a second with the door open: {low}")
        page.act("shut door")
        page.scan()
        page.scan()
        now, least = airless(page)
        hold(now == "1.00", f"with the door shut again: {now}")
        hold(float(least.split()[0]) <= low, f"least {least}, seen {low}")
        idle = next(one for one in page.texts("#hazards tr") if one.startswith("H10"))
        hold("no way is open from the vessel to the vehicle" in idle, f"a leak while nothing is charged: {idle}")
        page.no_complaints()
