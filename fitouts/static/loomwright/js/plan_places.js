// Positions set on the plan: by dragging their marks, or by the arrow keys. Fills in the form below; nothing is sent
// before somebody saves. Without this the places are typed.
"use strict";

(() => {
  const plan = document.getElementById("plan");
  const form = document.getElementById("places-form");
  if (!plan || !form) return;

  const { scale, width, height, front, middle } = Object.fromEntries(
    ["scale", "width", "height", "front", "middle"].map((name) => [name, Number(plan.dataset[name])]),
  );
  const said = document.getElementById("plan-said");
  const STEP_M = 0.05;
  const FAST_M = 0.25;

  const entry = (row, name) => form.elements[`p${row.dataset.position}-${name}`];
  const number = (text) => (text.trim() === "" ? NaN : Number(text.replace(",", ".").replace("\u2212", "-").replace(/[^\d.\-]/g, "")));
  const rounded = (value) => (Math.round(value / STEP_M) * STEP_M).toFixed(2).replace(/^-0\.00$/, "0.00");
  const within = (value, least, most) => Math.min(Math.max(value, least), most);

  // per cent of the drawing, which is as wide as its place
  const put = (handle, x, y) => {
    handle.style.left = `${(100 * (front + (x * 1000) / scale)) / width}%`;
    handle.style.top = `${(100 * (middle - (y * 1000) / scale)) / height}%`;
  };

  const say = (row) => {
    said.textContent = plan.dataset.words
      .replace("{name}", row.dataset.name)
      .replace("{x}", entry(row, "x_m").value)
      .replace("{y}", entry(row, "y_m").value);
  };

  const place = (row, handle, x, y) => {
    entry(row, "x_m").value = rounded(within(x, 0, 25));
    entry(row, "y_m").value = rounded(within(y, -2, 2));
    put(handle, number(entry(row, "x_m").value), number(entry(row, "y_m").value));
    handle.classList.add("moved");
  };

  const where = (event) => {
    const box = plan.getBoundingClientRect();
    const x = (((event.clientX - box.left) / box.width) * width - front) * (scale / 1000);
    const y = (middle - ((event.clientY - box.top) / box.height) * height) * (scale / 1000);
    return [x, y];
  };

  const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

  const handleOf = (row) => {
    const handle = document.createElement("button");
    handle.type = "button";
    handle.className = "handle";
    handle.title = row.dataset.name;
    handle.setAttribute("aria-label", row.dataset.name);
    // a place by cable lengths is written down only once somebody moves it
    const drawn = [Number(row.dataset.x), Number(row.dataset.y)];
    const typed = () => ["x_m", "y_m"].map((name) => number(entry(row, name).value));
    const now = () => (typed().every(Number.isFinite) ? typed() : drawn);
    handle.now = now;

    handle.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      handle.focus();
      handle.setPointerCapture(event.pointerId);
    });
    handle.addEventListener("pointermove", (event) => {
      if (handle.hasPointerCapture(event.pointerId)) place(row, handle, ...where(event));
    });
    handle.addEventListener("pointerup", () => { if (handle.classList.contains("moved")) say(row); });
    handle.addEventListener("keydown", (event) => {
      const way = arrows[event.key];
      if (!way) return;
      event.preventDefault();
      const by = event.shiftKey ? FAST_M : STEP_M;
      const [x, y] = now();
      place(row, handle, x + way[0] * by, y + way[1] * by);
      say(row);
    });
    for (const name of ["x_m", "y_m"]) {
      entry(row, name).addEventListener("input", () => {
        put(handle, ...now());
      });
    }
    return handle;
  };

  for (const row of form.querySelectorAll("[data-position]")) {
    const handle = handleOf(row);
    put(handle, ...handle.now());
    plan.append(handle);
  }
  document.querySelectorAll(".with-script").forEach((words) => { words.hidden = false; });
})();
