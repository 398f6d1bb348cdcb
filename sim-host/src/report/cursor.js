// Reads values at the pointer in every lane. The page is complete without it.
(() => {
  const chart = document.getElementById("chart");
  const cursor = document.getElementById("cursor");
  const data = JSON.parse(document.getElementById("samples").textContent);
  if (!chart || data.t.length === 0) return;
  const left = +chart.dataset.left, right = +chart.dataset.right, end = +chart.dataset.end;
  const values = [...chart.querySelectorAll("text[data-channel]")];
  const strips = [...chart.querySelectorAll("g[data-strip]")].map((group) => ({
    group,
    text: group.querySelector("text.value"),
    on: group.dataset.on.split(" ").filter(Boolean).map((span) => span.split(",").map(Number)),
  }));
  const line = cursor.querySelector("line"), box = cursor.querySelector("rect"), label = document.getElementById("cursor-time");
  let now = null;

  const clock = (t) => {
    const s = Math.floor(t), two = (n) => String(n).padStart(2, "0");
    return s >= 3600 ? `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}` : `${Math.floor(s / 60)}:${two(s % 60)}`;
  };
  const nearest = (t) => {
    let low = 0, high = data.t.length - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (data.t[middle] < t) low = middle + 1; else high = middle;
    }
    return low > 0 && t - data.t[low - 1] < data.t[low] - t ? low - 1 : low;
  };
  const show = (t) => {
    now = Math.min(Math.max(t, 0), end);
    const x = left + (now / end) * (right - left), at = nearest(now);
    line.setAttribute("x1", x); line.setAttribute("x2", x);
    box.setAttribute("x", x - 29); label.setAttribute("x", x);
    label.textContent = clock(now);
    cursor.setAttribute("visibility", "visible");
    for (const text of values) {
      const value = data.v[+text.dataset.channel][at];
      text.textContent = value === null ? "–" : String(value).replace("-", "−");
      text.classList.add("live");
    }
    for (const { group, text, on } of strips) {
      const running = on.some(([from, to]) => from <= now && now < to);
      text.textContent = running ? "on" : "off";
      group.classList.toggle("running", running);
      text.classList.add("live");
    }
  };
  const hide = () => {
    now = null;
    cursor.setAttribute("visibility", "hidden");
    for (const text of chart.querySelectorAll("text.value")) {
      text.textContent = text.dataset.range;
      text.classList.remove("live");
    }
    for (const { group } of strips) group.classList.remove("running");
  };
  chart.addEventListener("pointermove", (event) => {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(chart.getScreenCTM().inverse());
    if (point.x < left - 4 || point.x > right + 4) hide(); else show(((point.x - left) / (right - left)) * end);
  });
  chart.addEventListener("pointerleave", hide);
  chart.addEventListener("blur", hide);
  chart.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: -1, ArrowRight: 1, PageUp: -20, PageDown: 20 }[event.key];
    if (event.key === "Escape") hide();
    if (!step) return;
    event.preventDefault();
    show((now ?? 0) + (step * end) / 400);
  });
  addEventListener("beforeprint", hide);
})();
