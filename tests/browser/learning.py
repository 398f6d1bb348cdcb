"""Claims of what can be learnt on the panel: a lesson solved and handed in, since when something was inevitable, what if the table were another.

Each takes the program, the browser and the folder for what it writes, and raises `Wrong` where it does not hold.
"""

import json
import re

from selenium.webdriver.support.select import Select

from browse import Page, Server, hold, wait
from looks import GRAVE, audit
from steering import broken_in_recovery

TASK = "A door is opened in the middle of a recovery"


def begun(page, title):
    """A lesson begun from the list of them."""
    page.view("Lessons")
    Select(page.one("#lesson")).select_by_visible_text(title)
    page.press("Begin this lesson", "#lessons_tab")
    wait(f"the lesson `{title}`", lambda: page.text("#lesson_title") == title)


def answer(page, words):
    page.view("Lessons")
    field = page.one("#lesson_answer")
    field.clear()
    field.send_keys(words)
    page.press("Answer", "#lesson_question")


def goals(page):
    page.view("Lessons")
    return page.texts("#goals li")


def a_lesson_is_solved_and_handed_in(program, driver, out):
    saved = out / "lesson.json"
    saved.unlink(missing_ok=True)
    with Server(program) as server:
        page = Page(driver, server.address)
        begun(page, TASK)
        hold("recover" in page.text("#clock"), f"it begins at `{page.text('#clock')}`")
        hold(page.text("#lesson_stand").startswith("Not solved yet."), page.text("#lesson_stand"))
        hold(any(one.startswith("open: ") for one in goals(page)), f"goals at the start: {goals(page)}")
        page.press("One more hint", "#lessons_tab")
        wait("a hint", lambda: len(page.texts("#hints li")) == 1)
        answer(page, "I01")
        wait("the answer refused", lambda: "is not the answer" in page.text("#message"))
        answer(page, "I28")
        wait("the answer taken", lambda: "The answer is right." in page.text("#lesson_stand"))
        page.speed("100")
        page.act("open door")
        for _ in range(4):
            page.scan()
        hold(page.tripped(), "the open door trips nothing")
        page.act("shut door")
        page.jump_over(20)
        page.act("reset")
        page.act("resume")
        page.view("Lessons")
        page.press("Run", "nav")
        wait("the lesson solved", lambda: page.text("#lesson_stand").startswith("Solved at "))
        page.press("Stop", "nav")
        wait("it to stand", lambda: not page.runs())
        hold(all(one.startswith("holds: ") for one in goals(page)), f"goals in the end: {goals(page)}")
        found = [one for one in audit(page) if one[0] in GRAVE]
        hold(not found, f"the audit of a lesson finds {found}")
        page.one("#hand_in").click()
        wait("the saved result", lambda: saved.exists() and saved.stat().st_size)
        # The wrong answer was refused with 422, which a browser tells as a failed load.
        complaints = [one for one in page.complaints() if "422" not in one]
        hold(not complaints, f"the browser complains: {complaints}")
    result = json.loads(saved.read_text(encoding="utf-8"))
    hold(result["solved"] and result["hints_read"] == 1, f"handed in: solved {result['solved']}, hints {result['hints_read']}")
    hold([one["text"] for one in result["answers"]] == ["I01", "I28"], f"answers handed in: {result['answers']}")
    hold("open_door" in result["scenario"], "what was done is not in the scenario that is handed in")


def it_is_told_since_when_a_trip_was_inevitable(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        page.view("Hazards")
        hold("Nothing has come about yet" in page.text("#no_event"), "before anything happened there is nothing to ask of")
        rows = broken_in_recovery(page)
        at = page.t()
        page.view("Hazards")
        Select(page.one("#odds_of")).select_by_value(rows[0])
        for remedy, shares in [("heal_all", {0}), ("emergency_stop", {8})]:
            Select(page.one("#odds_remedy")).select_by_value(remedy)
            page.press("Try it in forks", "#odds_form")
            told = wait("an answer", lambda: (words := page.text("#odds_words")).startswith(rows[0]) and words)
            came = [int(one) for one in re.findall(r"(\d+) of 8", page.js("return document.querySelector('#odds_drawing table').textContent"))]
            hold(len(came) > 10 and set(came) == shares, f"{remedy}: {came}")
            hold(page.count("#odds_drawing svg polyline.curve") == 1, "nothing is drawn")
            since = re.search(r"From ([\d.]+) s on", told)
            hold(bool(since) == (remedy == "emergency_stop"), f"{remedy}: {told}")
            hold(not since or float(since[1]) < at - 50, f"a stop mends no wire, at any time before {at} s: {told}")
        hold(page.t() == at, "asking has moved the run")
        found = [one for one in audit(page) if one[0] in GRAVE]
        hold(not found, f"the audit of the odds finds {found}")
        page.no_complaints()


def a_set_point_is_moved_and_put_back(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        page.view("Interlocks")
        Select(page.one("#point")).select_by_value("vessel_pressure")
        wait("its unit", lambda: page.text("#point_unit") == "bar")
        table = float(page.js("return document.querySelector('#point_to').value"))
        field = page.one("#point_to")
        field.clear()
        field.send_keys("5")
        page.press("Move it there", "#interlocks")
        wait("it moved", lambda: f"vessel pressure: 5 bar (table: {table:g})" in page.text("#point_words"))
        # The vessel stands at some 6 bar: what trips at 5 is tripped.
        for _ in range(6):
            page.scan()
        hold("I03" in page.tripped(), f"tripped: {page.tripped()}")
        page.press("Put it back", "#interlocks")
        wait("it back", lambda: "where the table has it" in page.text("#point_words"))
        hold(any("interlock table altered" in one for one in page.deeds()), f"done: {page.deeds()}")
        found = [one for one in audit(page) if one[0] in GRAVE]
        hold(not found, f"the audit of moved set points finds {found}")
        page.no_complaints()


def a_code_is_typed_and_answered(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        page.jump_over(60)
        page.act("end the order")
        page.scan()
        page.view("Upkeep")
        wait("what is due", lambda: len(page.texts("#due tr")) > 5)
        field = page.one("#code")
        field.send_keys("12345")
        page.press("Type this code", "#exchange")
        wait("a code that is too short refused", lambda: "sixteen symbols" in page.text("#message"))
        field.clear()
        field.send_keys("00000-00000-00000-0")
        page.press("Type this code", "#exchange")
        wait("what was typed", lambda: any("00000" in one for one in page.deeds()))
        # The station looks at it when its store has answered.
        for _ in range(10):
            page.scan()
        page.view("Operator")
        newest = page.texts("#told li")[:2]
        hold(any("code" in one.lower() for one in newest), f"the station answers {newest}")
        complaints = [one for one in page.complaints() if "422" not in one]
        hold(not complaints, f"the browser complains: {complaints}")
