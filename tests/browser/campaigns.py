"""Claims of small campaigns asked for on the panel: begun by keyboard, drawn, again by their commands, stopped, one at a time.

Each takes the program, the browser and the folder for what it writes, and raises `Wrong` where it does not hold.
"""

import base64
import json
import re
import shlex
import subprocess

from selenium.webdriver import Keys
from selenium.webdriver.support.select import Select

from browse import LIMIT, Page, Server, hold, wait
from learning import begun
from looks import GRAVE, SCHEMES, WIDTHS, audit, overflow, unreached

# Without I03 some runs with XV-4 that does not open come to an accident (docs/without-a-row.md).
ROW, FAULT, HAZARD = "I03", "F056", "H09"


def chosen(page, row, faults):
    """The question put together, and what the page says it would be."""
    page.view("Interlocks")
    wait("rows to choose from", lambda: page.count("#campaign_row option") > 30)
    Select(page.one("#campaign_row")).select_by_value(row)
    Select(page.one("#campaign_faults")).select_by_value(faults)
    return wait("how many runs it is", lambda: (words := page.text("#campaign_plan")) and "runs." in words and words)


def drawn(page):
    return wait("the map", lambda: page.count("#campaign_map td") and page.text("#campaign_words"))


def mistakes(page):
    """What of the map does not fit its list of commands: cells without sign or number, or coloured alone."""
    return page.js("""
        const worse = [...document.querySelectorAll('#campaign_map td.worse')], list = document.querySelectorAll('#campaign_worse li');
        const found = worse.filter((one) => !/▲\\d+$/.test(one.textContent) || !one.ariaLabel.includes('worse')).map((one) => one.ariaLabel);
        if (worse.length !== list.length) found.push(`${worse.length} worse cells, ${list.length} commands`);
        return found;""")


def a_small_campaign_is_asked_for_by_keyboard_drawn_and_had_again(program, driver, out):
    saved = [out / "campaign.json", out / "campaign.csv"]
    for one in saved:
        one.unlink(missing_ok=True)
    with Server(program) as server:
        page = Page(driver, server.address)
        page.view("Interlocks")
        wait("what is to be done first", lambda: "Nothing is altered" in page.text("#campaign_plan"))
        hold(not page.one("#campaign_start").is_enabled(), "nothing is altered, and it can be begun")
        page.js("document.activeElement.blur()")
        page.tab_to("#campaign_row")
        for key in "the table without " + ROW:
            page.keys(key)
        page.tab_to("#campaign_faults")
        for key in FAULT:
            page.keys(key)
        planned = wait("how many runs it is", lambda: (words := page.text("#campaign_plan")) and f"without {ROW}" in words and words)
        chose = page.js("return [document.querySelector('#campaign_row').value, document.querySelector('#campaign_faults').value]")
        hold(chose == [ROW, FAULT], f"chosen by key: {chose}")
        bound = int(re.search(r"at most (\d+) runs", planned)[1])
        hold(0 < bound <= 600, planned)
        page.tab_to("#campaign_start")
        page.keys(Keys.ENTER)
        said = drawn(page)
        hold(HAZARD in said and "accident" in said, said)
        hold(page.t() == 0, "the run at hand was moved")
        hold(not mistakes(page), f"of the map: {mistakes(page)}")
        commands = page.texts("#campaign_worse code")
        hold(commands and all(one.endswith(f"--without {ROW}") for one in commands), f"commands: {commands}")
        for kind, file in zip(("json", "csv"), saved):
            page.one(f"#campaign_{kind}").click()
            wait(f"the saved {kind}", lambda file=file: file.exists() and file.stat().st_size)
        page.no_complaints()
    found = json.loads(saved[0].read_text(encoding="utf-8"))
    hold(found["said"][0] in said, f"saved: {found['said']}, shown: {said}")
    hold(len(saved[1].read_text(encoding="utf-8").splitlines()) == 2 + sum(map(len, found["cells"])), "the table has not a line a cell")
    again = [program, *shlex.split(commands[0])[1:], "--out", out / "again", "--no-report", "--trace", "none", "--force"]
    ran = subprocess.run(again, capture_output=True, text=True, timeout=LIMIT)
    hazards = json.loads((out / "again" / "result.json").read_text(encoding="utf-8"))["hazards"]
    hold(any(one["id"] == HAZARD and one["level"] == "accident" for one in hazards), f"{commands[0]}: {ran.stdout[-300:]} {ran.stderr[-300:]}")


def a_map_is_read_narrow_in_both_schemes_and_by_an_outside_audit(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        # Every step of the job, and most of them worse: the map is as wide as it gets.
        chosen(page, "I20", "F109")
        page.press("Run them", "#campaign_form")
        drawn(page)
        try:
            for scheme in SCHEMES:
                page.colours(scheme)
                found = [one for one in audit(page) if one[0] in GRAVE]
                hold(not found, f"{scheme}: the audit of a map finds {found}")
                for width in WIDTHS:
                    page.size(width, 1000)
                    hold(overflow(page) <= 0, f"{width} px wide: the page is {overflow(page)} px too wide")
                    page.size(width, page.js("return document.documentElement.scrollHeight") + 40)
                    picture = driver.execute_cdp_cmd("Page.captureScreenshot", {"format": "png"})["data"]
                    (out / f"campaign_{scheme}_{width}.png").write_bytes(base64.b64decode(picture))
            page.size(640, 512, 2)
            hold(overflow(page) <= 0, f"at twice the size the page is {overflow(page)} px too wide")
        finally:
            page.own_size()
            page.colours("")
        left, dull = unreached(page)
        hold(not left and not dull, f"the tab key does not come to {left}; nothing shows the focus of {dull}")
        # Planted: a worse cell that only its colour tells.
        hold(not mistakes(page), f"of the map: {mistakes(page)}")
        page.js("const one = document.querySelector('#campaign_map td.worse'); one.lastChild.remove()")
        hold(len(mistakes(page)) == 1, f"a worse cell without its sign is planted, {mistakes(page)} is found")
        page.no_complaints()


def a_campaign_is_stopped_and_a_second_refused_while_the_run_goes_on(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        one = driver.current_window_handle
        chosen(page, ROW, "all")
        page.speed("100")
        page.press("Run", "nav")
        wait("the run to go", lambda: page.t() > 1)
        page.press("Run them", "#campaign_form")
        wait("how far it is", lambda: page.js("return document.querySelector('#campaign_progress').value") > 0)
        t = page.t()
        wait("the run to go on beside it", lambda: page.t() > t + 50)
        driver.switch_to.new_window("tab")
        other = driver.current_window_handle
        try:
            second = Page(driver, server.address)
            chosen(second, ROW, FAULT)
            second.press("Run them", "#campaign_form")
            wait("why a second one is not begun", lambda: "a campaign is under way" in second.text("#campaign_words"))
            second.press("Stop them", "#campaign_form")
            wait("the second page to say that it stopped", lambda: second.text("#campaign_words").startswith("Stopped after"))
        finally:
            driver.switch_to.window(other)
            driver.close()
            driver.switch_to.window(one)
            driver.execute_cdp_cmd("Page.bringToFront", {})
        wait("the first page to say that it stopped", lambda: page.text("#campaign_words").startswith("Stopped after"))
        hold(not page.text("#campaign_map"), "a campaign that was stopped has a map")
        page.press("Stop", "nav")
        # The second was refused with 422, which a browser tells as a failed load.
        complaints = [one for one in page.complaints() if "422" not in one]
        hold(not complaints, f"the browser complains: {complaints}")


def a_lesson_has_no_campaign(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        begun(page, "What is a row for? Take it out and see")
        page.view("Interlocks")
        wait("why there is none", lambda: page.text("#campaign_plan").startswith("Not in a lesson"))
        hold(not page.one("#campaign_start").is_enabled(), "it can be begun in a lesson")
        page.no_complaints()
