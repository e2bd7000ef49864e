// A drawing larger than its window: zoom by buttons, keys, pinch, or the wheel with Ctrl; move by dragging or arrow keys.
// Without this the window scrolls. The drawing is an SVG that grows, so its text stays crisp.
"use strict";

(() => {
  const LEAST = 0.25, MOST = 8, STEP = 1.25, ARROW_PX = 80, DRAG_PX = 4;

  const start = (viewer) => {
    const view = viewer.querySelector(".viewer-view");
    const sheet = viewer.querySelector(".viewer-sheet");
    const tools = viewer.querySelector(".viewer-tools");
    const said = tools.querySelector("output");
    let scale = 1;

    // Zoom so that what is at (x, y) of the window stays there.
    const zoom = (wanted, x = view.clientWidth / 2, y = view.clientHeight / 2) => {
      const next = Math.min(MOST, Math.max(LEAST, wanted));
      const left = (view.scrollLeft + x) / sheet.offsetWidth, top = (view.scrollTop + y) / sheet.offsetHeight;
      scale = next;
      sheet.style.setProperty("inline-size", `${scale * view.clientWidth}px`);
      sheet.style.setProperty("min-inline-size", "0");
      view.scrollLeft = left * sheet.offsetWidth - x;
      view.scrollTop = top * sheet.offsetHeight - y;
      said.textContent = `${Math.round(scale * 100)}\u202f%`;
    };

    const at = (event) => {
      const box = view.getBoundingClientRect();
      return [event.clientX - box.left, event.clientY - box.top];
    };

    const full = () => (document.fullscreenElement ? document.exitFullscreen() : viewer.requestFullscreen());
    const fit = () => { zoom(1); view.scrollLeft = 0; view.scrollTop = 0; };
    const deeds = { in: () => zoom(scale * STEP), out: () => zoom(scale / STEP), fit, full };
    tools.addEventListener("click", (event) => {
      const button = event.target.closest("[data-zoom]");
      if (button) deeds[button.dataset.zoom]();
    });
    if (!viewer.requestFullscreen) tools.querySelector('[data-zoom="full"]').hidden = true;

    const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    view.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const move = moves[event.key];
      if (move) view.scrollBy(move[0] * ARROW_PX, move[1] * ARROW_PX);
      else if (event.key === "+" || event.key === "=") deeds.in();
      else if (event.key === "-") deeds.out();
      else if (event.key === "0") deeds.fit();
      else return;
      event.preventDefault();
    });

    view.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && !event.metaKey) return;
      event.preventDefault();
      zoom(scale * Math.exp(-event.deltaY / 300), ...at(event));
    }, { passive: false });

    // Dragging with a mouse; fingers move the window by themselves.
    let held = null;
    view.addEventListener("pointerdown", (event) => {
      if (event.pointerType !== "mouse" || event.button !== 0) return;
      held = { x: event.clientX, y: event.clientY, left: view.scrollLeft, top: view.scrollTop, moved: false };
    });
    window.addEventListener("pointermove", (event) => {
      if (!held) return;
      const dx = event.clientX - held.x, dy = event.clientY - held.y;
      if (!held.moved && Math.hypot(dx, dy) < DRAG_PX) return;
      held.moved = true;
      viewer.classList.add("dragged");
      view.scrollLeft = held.left - dx;
      view.scrollTop = held.top - dy;
    });
    let dragged = false;
    window.addEventListener("pointerup", () => {
      dragged = Boolean(held && held.moved);
      held = null;
      viewer.classList.remove("dragged");
    });
    view.addEventListener("click", (event) => { if (dragged) event.preventDefault(); dragged = false; }, true);
    view.addEventListener("dragstart", (event) => event.preventDefault());

    // Two fingers pinch.
    let pinch = null;
    const apart = (touches) =>
      Math.hypot(touches[0].clientX - touches[1].clientX, touches[0].clientY - touches[1].clientY);
    view.addEventListener("touchstart", (event) => {
      pinch = event.touches.length === 2 ? { apart: apart(event.touches), scale } : null;
    }, { passive: true });
    view.addEventListener("touchmove", (event) => {
      if (!pinch || event.touches.length !== 2) return;
      event.preventDefault();
      const [a, b] = event.touches;
      const middle = { clientX: (a.clientX + b.clientX) / 2, clientY: (a.clientY + b.clientY) / 2 };
      zoom(pinch.scale * apart(event.touches) / pinch.apart, ...at(middle));
    }, { passive: false });
    view.addEventListener("touchend", () => { pinch = null; }, { passive: true });

    // A window of another size keeps the scale, which counts in widths of the window.
    new ResizeObserver(() => { if (scale !== 1 || sheet.style.length) zoom(scale, 0, 0); }).observe(view);
    tools.hidden = false;
    scale = sheet.offsetWidth / Math.max(1, view.clientWidth);
    said.textContent = `${Math.round(scale * 100)}\u202f%`;
  };

  document.querySelectorAll("[data-viewer]").forEach(start);
})();
