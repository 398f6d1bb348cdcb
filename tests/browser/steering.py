"""Claims of what can be done on the panel: run, break, clear, go back, save, look closer, from two pages, over a broken line.

Each takes the program, the browser and the folder for what it writes, and raises `Wrong` where it does not hold.
"""

import json
import re
import subprocess

from selenium.webdriver import ActionChains

from browse import LIMIT, Page, Server, Wrong, hold, wait

TITLE = "A hatchback on a mild day (R-1234yf, 22 degC)"
# The vessel's pressure transmitter loses its wire.
FAULT = "F001"


def broken_in_recovery(page):
    """To the trip that the fault brings in the middle of a recovery; the rows that tripped."""
    page.speed("1000")
    page.jump_into("recover")
    page.break_now(FAULT)
    page.jump("trip")
    return page.tripped()


def healed(page):
    """The fault gone, the row reset, the order resumed; both standing still."""
    page.view("Faults")
    page.press(f"Heal {FAULT}", "#faults")
    page.view("Interlocks")
    for _ in range(200):
        page.scan()
        if "waits for reset" in page.text("#rows") and "cause stands" not in page.text("#rows"):
            break
    else:
        raise Wrong("ten seconds after the fault was healed its cause still stands")
    page.act("reset")
    page.act("resume")
    page.scan()
    page.view("Interlocks")


def to_a_question(page):
    """To the first question of the station, which must be on a server whose questions are left to the page."""
    page.view("Operator")
    for _ in range(30):
        if question := page.text("#question"):
            return question
        page.jump("notice")
    raise Wrong("thirty notices, and no question")


def the_page_loads_and_nothing_is_complained_of(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        hold(page.text("h1") == TITLE, f"the heading is `{page.text('h1')}`")
        wait("symbols in the drawing", lambda: page.count("#drawing path.symbol") >= 20)
        box = page.one("#drawing svg").rect
        hold(box["width"] > 300 and box["height"] > 200, f"the drawing is {box['width']} by {box['height']}")
        page.speed("1000")
        page.press("Run", "nav")
        wait("lines over time", lambda: page.js("return [...document.querySelectorAll('#trends .curve')].some((one) => one.points.length > 20)"))
        for name in page.views():
            page.view(name)
        page.no_complaints()


def the_demo_job_runs_to_its_end_and_says_so(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        page.to_the_end()
        hold(page.clock()[3] == "over", page.text("#clock"))
        hold(not page.runs(), "over, and the button says Stop")
        page.view("Operator")
        hold("done" in page.text("#job dd"), f"the order is `{page.text('#job dd')}`")
        page.view("Order")
        phases = page.texts("#plan tr")
        wanted = ["recover", "evacuate", "leak_check", "charge", "verify"]
        hold(all(any(one.startswith(name.replace("_", " ")) and "\tdone\t" in one for one in phases) for name in wanted), f"phases: {phases}")
        page.no_complaints()


def a_fault_trips_a_row_with_a_first_cause(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        page.view("Interlocks")
        hold(page.text("#first") == "No row is tripped." and not page.tripped(), "a row is tripped before anything broke")
        rows = broken_in_recovery(page)
        hold(rows, "no row is shown as tripped")
        first = page.text("#first")
        hold(first.startswith("First cause: ") and rows[0] in first, f"`{first}`, and {rows} tripped")
        hold(page.row(rows[0])[1] == "1", f"{rows[0]} tripped `{page.row(rows[0])[1]}` times")
        page.one("#rows tr:has(.bad) summary").click()
        opened = wait("why the row is there", lambda: page.text("#rows tr:has(.bad) details"))
        hold("Acts when: " in opened and "Clears: " in opened, f"the row opened says `{opened}`")
        wait("a mark over time for each row that tripped", lambda: page.count("#trends .mark.trip") == len(rows))
        page.no_complaints()


def a_row_is_not_reset_while_its_cause_stands_and_clears_after(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        rows = broken_in_recovery(page)
        page.act("reset")
        page.scan()
        hold(page.tripped() == rows, f"reset with the fault acting: {rows} became {page.tripped()}")
        healed(page)
        hold(not page.tripped(), f"reset after healing: {page.tripped()} still tripped")
        hold(page.text("#first") == "No row is tripped.", page.text("#first"))
        t = page.t()
        page.to_the_end()
        hold(page.t() > t + 600, f"cleared at {t} s, over at {page.t()} s")
        page.view("Operator")
        hold(page.text("#job dd") == "done", f"the order is `{page.text('#job dd')}` in the end")
        page.no_complaints()


def click_over_time(page, share):
    """On the drawing over time, at this share of its axis from the left, as `trends.js` lays it out."""
    svg = page.one("#trends svg")
    page.js("arguments[0].scrollIntoView({block: 'center'})", svg)
    place = -svg.rect["width"] / 2 + svg.rect["width"] * (60 + share * 932) / 1000
    return ActionChains(page.driver).move_to_element_with_offset(svg, round(place), 0)


def span(page):
    """Ends of the axis of time, as they are written under it."""
    ends = [text for text in page.texts("#trends svg text") if re.fullmatch(r"\d+ s", text)]
    return [float(one.split()[0]) for one in ends]


def reach(page, css):
    """How far right these lines go."""
    return page.js("return Math.max(0, ...[...document.querySelectorAll(arguments[0])].flatMap((one) => [...one.points].map((p) => p.x)))", css)


def going_back_undoes_what_came_later_and_keeps_it_faint(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        # Kept: done before the moment that is gone back to.
        page.act("reset")
        broken_in_recovery(page)
        before = page.deeds()
        hold(len(before) == 2 and FAULT in before[1], f"done so far: {before}")
        fault = float(before[1].split()[0])
        wait("what the trends show of it", lambda: span(page) and span(page)[1] >= fault - 1)
        hold(page.count("#trends .curve.left") == 0, "a way that was left, before going back")
        share = 0.6 * fault / span(page)[1]
        click_over_time(page, share).click().perform()
        to = float(wait("the moment that was clicked", lambda: page.js("return document.querySelector('#back_to').value")))
        hold(abs(to - 0.6 * fault) < 2, f"clicked at {0.6 * fault:.1f} s, read {to} s")
        hold(page.count("#trends .cursor") > 0, "the moment is not marked")
        page.press("Go back and branch", "nav")
        wait("the time gone back to", lambda: abs(page.t() - to) < 0.06)
        after = page.deeds()
        hold(after == before[:1], f"done: {before} became {after}")
        hold(not page.tripped(), "still tripped before the fault")
        page.view("Faults")
        hold(not page.texts("#faults li"), "the fault is still of this run")
        wait("the way that was left", lambda: page.count("#trends .curve.left") > 0)
        left, now = reach(page, "#trends .curve.left"), reach(page, "#trends .curve:not(.left)")
        hold(left > now + 10, f"the left way goes to {left:.0f}, the one at hand to {now:.0f}")
        faint = page.js("return [...document.querySelectorAll('#trends .curve.left')].every((one) => getComputedStyle(one).opacity < 0.7)")
        hold(faint, "the left way is as strong as the one at hand")
        wait("the trip's mark gone", lambda: page.count("#trends .mark.trip") == 0)
        page.press("Run", "nav")
        wait("another way", lambda: page.t() > fault + 60)
        hold(not page.tripped(), "the undone fault tripped a row")
        hold(page.count("#trends .curve.left") > 0, "the left way is gone after the run went on")
        page.no_complaints()


def what_is_saved_runs_again_to_the_same_hash(program, driver, out):
    saved = out / "played.toml"
    saved.unlink(missing_ok=True)
    with Server(program) as server:
        page = Page(driver, server.address)
        broken_in_recovery(page)
        healed(page)
        page.to_the_end()
        hold(page.clock()[3] == "over", page.text("#clock"))
        shown = page.hash()
        page.one("#save").click()
        wait("the saved file", lambda: saved.exists() and saved.stat().st_size)
        page.no_complaints()
    first = saved.read_text(encoding="utf-8").splitlines()[0]
    hold(shown and shown in first, f"the page shows {shown}, the file says `{first}`")
    results = out / "replayed"
    command = [program, "run", saved, "--out", results, "--no-report", "--trace", "none", "--force"]
    (results / "result.json").unlink(missing_ok=True)
    # It may say that an expectation failed: the demo expects no trip.
    ran = subprocess.run(command, capture_output=True, text=True, timeout=LIMIT)
    hold((results / "result.json").exists(), f"run ended with {ran.returncode}: {ran.stderr[-300:]}")
    result = json.loads((results / "result.json").read_text(encoding="utf-8"))
    hold(result["trace_hash"] == shown, f"the page shows {shown}, its replay {result['trace_hash']}")
    hold(FAULT in json.dumps(result["faults"]), "the replay knows of no fault")


def two_pages_show_and_steer_the_same_run(program, driver, out):
    with Server(program) as server:
        first = Page(driver, server.address)
        one = driver.current_window_handle
        driver.switch_to.new_window("tab")
        other = driver.current_window_handle

        def look_at(handle):
            # A page behind another is not drawn, here as on a screen.
            driver.switch_to.window(handle)
            driver.execute_cdp_cmd("Page.bringToFront", {})

        try:
            second = Page(driver, server.address)
            hold(second.t() == 0, f"at {second.t()} s before anybody pressed Run")
            look_at(one)
            first.press("Run", "nav")
            wait("the clock of the first", lambda: first.t() > 1)
            look_at(other)
            wait("the second to show that it runs", second.runs)
            t = second.t()
            wait("the clock of the second", lambda: second.t() > t + 1)
            second.press("Stop", "nav")
            wait("the second to stand still", lambda: not second.runs())
            look_at(one)
            wait("the first to stand still", lambda: not first.runs())
            wait("both at the same time", lambda: first.t() >= t)
            at = first.t()
            look_at(other)
            hold(second.t() == at, f"the first stands at {at} s, the second at {second.t()} s")
            second.no_complaints()
        finally:
            for handle in set(driver.window_handles) - {one}:
                driver.switch_to.window(handle)
                driver.close()
            driver.switch_to.window(one)


def a_broken_stream_is_said_and_mended(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        page.speed("1000")
        page.press("Run", "nav")
        wait("two minutes of a run", lambda: page.t() > 120 and reach(page, "#trends .curve") > 500)
        server.stop()
        wait("the page to say that the stream is broken", lambda: "stream from the server is broken" in page.text("#message"))
        page.press("One scan", "nav")
        wait("the page to say that nobody answers", lambda: "does not answer" in page.text("#message"))
        with Server(program, port=server.port):
            wait("the new run, from its beginning", lambda: page.t() == 0)
            wait("nothing more to complain of", lambda: page.text("#message") == "")
            page.speed("1")
            page.press("Run", "nav")
            wait("the new run to go", lambda: page.t() > 2)
            page.press("Stop", "nav")
            wait("it to stand", lambda: not page.runs())
            t = page.t()
            wait("what the trends show of it", lambda: reach(page, "#trends .curve") > 60)
            hold(t < 60, f"{t} s went by while two were waited for")
            # Sixty seconds fill the axis.
            far, ends = 60 + (t + 2) / 60 * 932, reach(page, "#trends .curve")
            hold(ends <= far, f"lines over time still show the run that is gone: they end at {ends:.0f}, the new one's at {far:.0f}")
        page.complaints()


def a_stretch_is_seen_closer_and_the_whole_again(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        page.speed("1000")
        page.jump_into("recover")
        whole = wait("the axis of time", lambda: span(page))
        svg = page.one("#trends svg")
        click_over_time(page, 0.25).click_and_hold().move_by_offset(round(svg.rect["width"] * 0.3), 0).release().perform()
        closer = wait("a stretch of it", lambda: span(page) != whole and span(page))
        hold(whole[0] < closer[0] < closer[1] < whole[1], f"{whole} became {closer}")
        click_over_time(page, 0.5).double_click().perform()
        try:
            wait("the whole after a double click", lambda: span(page) == whole)
        except Wrong as why:
            raise Wrong(f"{why}; the axis shows {span(page)}, the whole is {whole}") from None
        page.no_complaints()


def questions_are_answered_by_hand(program, driver, out):
    with Server(program, "--by-hand") as server:
        page = Page(driver, server.address)
        page.speed("1000")
        question = to_a_question(page)
        page.press("do what is asked, then yes", "#acts")
        page.press("Run", "nav")
        wait("the question answered", lambda: page.text("#question") != question)
        hold(any("do as asked" in one for one in page.deeds()), f"done: {page.deeds()}")
        page.no_complaints()
