"""Claims of how the panel can be reached and read: by keyboard, enlarged, narrow, in light and dark, by an outside audit.

Each takes the program, the browser and the folder for what it writes, and raises `Wrong` where it does not hold. The last one plants
mistakes in a page that is well, and the same looks must find them.
"""

import base64

from selenium.webdriver import Keys
from selenium_axe_python import Axe

from browse import Page, Server, hold, wait
from steering import FAULT, broken_in_recovery, to_a_question

SCHEMES = ("light", "dark")
# Wide enough for two columns, one column, a telephone; px.
WIDTHS = (1400, 1000, 360)
# What the audit may not find, and what is only told.
GRAVE, TOLD = ("serious", "critical"), ("moderate", "minor")

# Everything that can be used where it stands. Of a row of views the chosen one is reached by tab, the others by arrows.
CONTROLS = """[...document.querySelectorAll('button, select, input, textarea, summary, a[href], [tabindex="0"]')]
    .filter((one) => one.checkVisibility({ visibilityProperty: true }) && !one.disabled && one.tabIndex >= 0)"""
NAMED = """(one) => `${one.tagName.toLowerCase()} ${one.id || one.getAttribute('aria-label') || one.textContent.trim().slice(0, 40)}`"""


def unreached(page):
    """Controls in sight that a round of the tab key leaves out, and those that do not show that they have the focus."""
    page.js("document.activeElement.blur(); window.reached = new Set(); window.dull = new Set()")
    # Between the last control and the first the focus may be on nothing.
    for _ in range(250):
        page.keys(Keys.TAB)
        again = page.js("""
            const one = document.activeElement;
            if (one === document.body) return false;
            if (reached.has(one)) return true;
            reached.add(one);
            const is = getComputedStyle(one);
            if (is.outlineStyle === 'none' || parseFloat(is.outlineWidth) < 2) dull.add(one);
            return false;""")
        if again:
            break
    else:
        return ["250 presses of the tab key come to no end"], []
    left = page.js(f"return {CONTROLS}.filter((one) => !reached.has(one)).map({NAMED})")
    return left, page.js(f"return [...dull].map({NAMED})")


def overflow(page):
    """How far the document is wider than what its window shows of it, px."""
    return page.js("const of = document.documentElement; return Math.max(of.scrollWidth, document.body.scrollWidth) - of.clientWidth")


def audit(page):
    """What the outside audit finds in the page as it stands: how grave, which rule, where."""
    audits = Axe(page.driver)
    if not page.js("return Boolean(window.axe)"):
        audits.inject()
    found = audits.run(options={"resultTypes": ["violations"]})["violations"]
    return {(one["impact"], one["id"], " ".join(node["target"])) for one in found for node in one["nodes"]}


def everything_is_reached_and_pressed_by_keyboard(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        views = page.views()
        page.js("document.activeElement.blur()")
        page.tab_to("#speed")
        page.keys(Keys.HOME, Keys.ARROW_DOWN, Keys.ARROW_DOWN)
        speed = page.js("return document.activeElement.value")
        hold(speed == "100", f"the speed chosen by key is `{speed}`")
        page.tab_to("#run")
        page.keys(Keys.ENTER)
        wait("a run that was begun by key", lambda: page.runs() and page.t() > 20)
        page.keys(Keys.SPACE)
        wait("a run that was stopped by key", lambda: not page.runs())
        page.tab_to("[role=tab]")
        seen = []
        for name in views:
            chosen = page.js("return document.activeElement.textContent")
            hold(page.text(f'[data-tab="{chosen}"]'), f"the view {chosen} has the focus and is not shown")
            seen.append(chosen)
            page.keys(Keys.ARROW_RIGHT)
        hold(seen == views, f"the arrow keys go through {seen} of {views}")
        hold(page.js("return document.activeElement.textContent") == views[0], "the arrow keys do not come round")
        page.tab_to("#acts button[data-act=pause]")
        page.keys(Keys.ENTER)
        wait("an act by key", lambda: page.count("#deeds li") == 1)
        page.view("Faults")
        page.js("document.activeElement.blur()")
        page.tab_to("#break")
        page.keys(Keys.ENTER)
        wait("a fault by key", lambda: any(FAULT in one for one in page.texts("#faults li")))
        page.tab_to("#faults button")
        page.keys(Keys.ENTER)
        wait("it healed by key", lambda: page.count("#deeds li") == 2 and "healed at" in page.js("return document.querySelector('#deeds').textContent"))
        for name in views:
            page.view(name)
            left, dull = unreached(page)
            hold(not left, f"{name}: the tab key does not come to {left}")
            hold(not dull, f"{name}: nothing shows that these have the focus: {dull}")
        page.tab_to("nav summary")
        page.keys(Keys.ENTER)
        left, _ = unreached(page)
        hold(not left, f"begin anew: the tab key does not come to {left}")
        page.tab_to("#restart")
        page.keys(Keys.ENTER)
        wait("a new run by key", lambda: page.t() == 0)
        page.no_complaints()


def focus_and_opened_rows_stay_while_the_run_goes_on(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        page.speed("1000")
        page.jump_into("recover")
        page.break_now(FAULT)
        page.view("Interlocks")
        page.one("#rows tr:nth-child(2) summary").click()
        wait("the row opened", lambda: page.text("#rows tr:nth-child(2) details p"))
        page.js("document.querySelector('#rows tr:nth-child(2) input').focus()")
        # Not by mouse: that would take the focus to the button.
        page.js("document.querySelector('[data-do*=trip]').click()")
        wait("the trip", lambda: page.text("#first").startswith("First cause"))
        opened, at = page.text("#rows tr:nth-child(2) details p"), page.js("return document.activeElement.tagName")
        hold(opened and at == "INPUT", f"after another row tripped the opened row is {'open' if opened else 'shut'} and the focus is on {at}")
        page.no_complaints()


def nothing_is_cut_off_enlarged_or_narrow(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        broken_in_recovery(page)
        page.one("nav summary").click()
        try:
            for width, height, scale in ((640, 512, 2), (360, 740, 2)):
                page.size(width, height, scale)
                for name in page.views():
                    page.view(name)
                    hold(overflow(page) <= 0, f"{name}, {width} px wide: the page is {overflow(page)} px too wide")
                outside = page.js(f"""
                    return {CONTROLS}.filter((one) => one.closest('header, nav, [role=tablist]')).filter((one) => {{
                        const box = one.getBoundingClientRect();
                        return box.width < 8 || box.height < 8 || box.left < 0 || box.right > innerWidth + 0.5;
                    }}).map({NAMED})""")
                hold(not outside, f"{width} px wide: cut off or too small: {outside}")
                for words in ("phase", "trip", "notice", "end", "One scan", "Go back and branch"):
                    hold(words in page.texts("nav button"), f"{width} px wide: no button `{words}`")
                page.scan()
        finally:
            page.own_size()
        page.no_complaints()


def light_and_dark_differ_and_are_pictured(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        broken_in_recovery(page)
        grounds = {}
        try:
            for scheme in SCHEMES:
                page.colours(scheme)
                ground = page.js("return getComputedStyle(document.body).backgroundColor.match(/\\d+/g).slice(0, 3).map(Number)")
                grounds[scheme] = sum(ground) / 3
                for width in WIDTHS:
                    for name in page.views():
                        page.size(width, 1000)
                        page.view(name)
                        # Higher than the page, so that no scroll bar takes from its width.
                        page.size(width, page.js("return document.documentElement.scrollHeight") + 40)
                        picture = driver.execute_cdp_cmd("Page.captureScreenshot", {"format": "png"})["data"]
                        (out / f"{name.lower().replace(' ', '_')}_{scheme}_{width}.png").write_bytes(base64.b64decode(picture))
        finally:
            page.own_size()
            page.colours("")
        hold(grounds["light"] > 150 and grounds["dark"] < 80, f"mean of the ground's colour: {grounds}")
        page.no_complaints()


def an_outside_audit_finds_nothing_grave(program, driver, out):
    grave, told = set(), set()

    def look(page, names):
        try:
            for scheme in SCHEMES:
                page.colours(scheme)
                for name in names:
                    page.view(name)
                    found = audit(page)
                    grave.update((scheme, name, *one) for one in found if one[0] in GRAVE)
                    told.update(one for one in found if one[0] in TOLD)
        finally:
            page.colours("")

    with Server(program) as server:
        page = Page(driver, server.address)
        broken_in_recovery(page)
        page.one("nav summary").click()
        page.one("#rows summary").click()
        look(page, page.views())
        page.no_complaints()
    with Server(program, "--by-hand") as server:
        page = Page(driver, server.address)
        page.speed("1000")
        to_a_question(page)
        look(page, ["Operator"])
        page.no_complaints()
    for one in sorted(told):
        print(f"note: the audit finds {', '.join(one)}")
    hold(not grave, f"the audit finds {sorted(grave)[:8]} ({len(grave)} in all)")


def planted_mistakes_are_found(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        page.no_complaints()
        page.js("const one = document.createElement('script'); one.textContent = 'window.planted = 1'; document.body.append(one)")
        wait("a complaint of an inline script", page.complaints)
        hold(page.js("return window.planted === undefined"), "an inline script ran in spite of the page's policy")
        page.js("setTimeout(() => { throw new Error('planted') })")
        wait("a complaint of an error in a script", page.complaints)
        hold(overflow(page) <= 0 and not any(one[0] in GRAVE for one in audit(page)), "the page is not well to begin with")
        page.js("document.body.insertAdjacentHTML('beforeend', '<div id=wide>wide</div><button id=dumb></button>')")
        page.js("document.querySelector('#wide').style.width = '3000px'")
        hold(overflow(page) > 1000, "a page that is too wide is not found")
        hold(any(one[:2] == ("critical", "button-name") for one in audit(page)), "a button without a name is not found by the audit")
        page.js("const one = document.querySelector('#dumb'); one.addEventListener('focus', () => one.blur())")
        left, _ = unreached(page)
        hold(len(left) == 1 and "dumb" in left[0], f"one button that cannot be reached is planted, {left} is found")
