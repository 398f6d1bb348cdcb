"""Claims of what is drawn: labels that do not touch, axes that lie still, tables that are not cut.

Each takes the program, the browser and the folder for what it writes, and raises `Wrong` where it does not hold.
"""

import base64

from browse import Page, Server, hold, wait

# Scenarios on the one and on the other shipped station, the last with all that may stand about a vehicle; their names in pictures, and a phase.
STATIONS = (("mild_hatchback", "workshop", "recover"), ("yard_coach", "fleet_yard", "recover"), ("proof_under_nitrogen", "nitrogen", "pressure_test"))
# As long as a flow is ever written: two digits and the smallest that is shown.
LONGEST_FLOW = "0.00012 g/s"

# Pairs of texts that lie on each other, and texts that lie on the box of a place which is not theirs or out of the picture.
TOUCHING = """
    const meets = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 0.05 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.05;
    const svg = document.querySelector('#drawing svg');
    const texts = [...svg.querySelectorAll('text')].filter((one) => one.textContent.trim()).map((one) => [one, one.getBoundingClientRect()]);
    const found = [];
    texts.forEach(([a, here], at) => {
        for (const [b, there] of texts.slice(at + 1)) if (meets(here, there)) found.push(`"${a.textContent}" and "${b.textContent}"`);
        for (const box of svg.querySelectorAll('rect.place'))
            if (box.parentNode !== a.parentNode && meets(here, box.getBoundingClientRect())) found.push(`"${a.textContent}" and the box of ${box.parentNode.querySelector('text').textContent}`);
        const all = svg.getBoundingClientRect();
        if (here.left < all.left || here.right > all.right || here.top < all.top || here.bottom > all.bottom) found.push(`"${a.textContent}" and the edge`);
    });
    return found;"""


def no_two_labels_of_the_drawing_touch(program, driver, out):
    for scenario, name, phase in STATIONS:
        with Server(program, scenario=scenario) as server:
            page = Page(driver, server.address)
            page.speed("1000")
            page.jump_into(phase)
            flowed = 0
            try:
                for width in (1400, 1000, 360):
                    page.size(width, 1000)
                    page.jump_over(10)
                    flowed += len([one for one in page.texts("#drawing text") if one.endswith(" g/s")])
                    found = page.js(TOUCHING)
                    hold(not found, f"{name}, {width} px wide: {'; '.join(found)}")
                    picture = driver.execute_cdp_cmd("Page.captureScreenshot", {"format": "png"})["data"]
                    (out / f"drawing_{name}_{width}.png").write_bytes(base64.b64decode(picture))
                hold(flowed > 3, f"{name}: {flowed} flows were seen, too few to look at")
                page.size(1400, 1000)
                page.js("document.querySelectorAll('#drawing text.small.figure').forEach((one) => { one.textContent = arguments[0]; })", LONGEST_FLOW)
                found = page.js(TOUCHING)
                hold(not found, f"{name}, with every flow as long as it can be: {'; '.join(found)}")
                page.js("const one = document.querySelector('#drawing text.small'); one.setAttribute('x', 0); one.setAttribute('y', 0); one.textContent = 'planted';"
                        "const two = one.cloneNode(true); one.after(two);")
                hold(any("planted" in one for one in page.js(TOUCHING)), "a label that was put on another one is not found")
            finally:
                page.own_size()
            page.no_complaints()


def a_signal_at_rest_has_an_axis_from_nought_up(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        page.jump_over(5)
        words = wait("the lane of the cabinet's gas", lambda: (all := page.texts("#trends svg text")) and "% LFL" in all and all)
        at = words.index("% LFL")
        high, low = float(words[at - 2]), float(words[at - 1])
        hold((low, high) == (0, 10), f"no gas at all is drawn on an axis from {low} to {high} % LFL")
        hold(all(float(words[i - 1]) >= 0 for i, unit in enumerate(words) if unit in ("bar abs", "mbar abs", "kg", "g")), f"an axis goes below nothing: {words}")
        page.no_complaints()


def no_table_is_cut_on_a_telephone(program, driver, out):
    with Server(program) as server:
        page = Page(driver, server.address)
        page.speed("0")
        page.jump("phase")
        page.jump("phase")
        try:
            page.size(360, 740, 2)
            cut = []
            for name in page.views():
                page.view(name)
                if name == "Readings":
                    page.one("#show_truth").click()
                if name in ("Records", "Upkeep"):
                    wait("what is kept", lambda: page.count("#counters tr") > 5)
                wide = page.js("const of = document.querySelector(`[data-tab='${arguments[0]}']`); return of.scrollWidth - of.clientWidth", name)
                if wide > 0:
                    cut.append(f"{name} by {wide} px")
            hold(not cut, f"cut at 360 px: {', '.join(cut)}")
        finally:
            page.own_size()
        page.no_complaints()
