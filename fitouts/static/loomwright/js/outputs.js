// Circuits picked up and put on another output: by dragging, by keys, or by pressing one and then the other.
// Without this the same is done by pressing, a page for each step. What may hang where is the server's to say.
"use strict";

(() => {
  const START_PX = 6;
  const EDGE_PX = 70;
  const said = document.getElementById("said");
  let held = null; // { hung, from, at, ghost, x, y }
  let back = null; // key of the circuit that the focus returns to

  const board = () => document.getElementById("outputs");
  const slots = () => [...board().querySelectorAll(".slot")];
  const say = (words) => { said.textContent = words; };
  const usable = () => board() && board().querySelector("#move") && !board().querySelector(".held-note");

  const point = (slot) => {
    slots().forEach((each) => each.classList.toggle("at", each === slot));
    held.at = slot;
    if (slot) say(slot.dataset.words);
  };

  const pickUp = (hung) => {
    const from = hung.closest(".slot");
    held = { hung, from, at: from, ghost: null };
    board().classList.add("holding");
    hung.classList.add("up");
    from.classList.add("from");
    slots().forEach((slot) => slot.classList.toggle("not", Number(slot.dataset.limit) < Number(hung.dataset.least) - 1e-9));
    say(`${hung.dataset.words}, ${board().dataset.up}`);
  };

  const letGo = () => {
    if (!held) return;
    held.ghost?.remove();
    board().classList.remove("holding");
    held.hung.classList.remove("up");
    slots().forEach((slot) => slot.classList.remove("at", "from", "not"));
    held = null;
  };

  const giveUp = () => { letGo(); say(board().dataset.gaveUp); };

  const putDown = (slot) => {
    const { hung, from } = held;
    letGo();
    if (!slot || slot === from) { say(board().dataset.gaveUp); return; }
    const form = board().querySelector("#move");
    form.elements.circuit.value = back = hung.dataset.key;
    form.elements.module.value = slot.dataset.module;
    form.elements.channel.value = slot.dataset.channel;
    form.requestSubmit();
  };

  // press or key: pick up with one, put down with the next
  document.addEventListener("click", (event) => {
    if (!usable()) return;
    const handle = event.target.closest("#outputs .hold");
    if (stopClick) {
      event.preventDefault();
    } else if (held) {
      const slot = event.target.closest("#outputs .slot");
      if (!slot) return;
      event.preventDefault();
      putDown(event.detail === 0 ? held.at : slot); // without a pointer: where the keys led
    } else if (handle) {
      event.preventDefault();
      pickUp(handle.closest(".hung"));
    }
  });

  document.addEventListener("keydown", (event) => {
    const handle = event.target.closest?.("#outputs .hold");
    if (!usable()) return;
    if (event.key === " " && handle) { event.preventDefault(); handle.click(); return; }
    if (!held) return;
    if (event.key === "Escape") { event.preventDefault(); giveUp(); return; }
    const all = slots(), now = all.indexOf(held.at);
    const to = { ArrowRight: now + 1, ArrowLeft: now - 1, ArrowDown: below(all, now, 1), ArrowUp: below(all, now, -1), Home: 0, End: all.length - 1 }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    const slot = all[Math.min(Math.max(to, 0), all.length - 1)];
    point(slot);
    slot.scrollIntoView({ block: "nearest" });
  });

  // the next output in this column, up or down
  const below = (all, now, way) => {
    const from = all[now].getBoundingClientRect();
    for (let i = now + way; i >= 0 && i < all.length; i += way) {
      const box = all[i].getBoundingClientRect();
      if (Math.abs(box.left - from.left) < 4 && box.top !== from.top) return i;
    }
    return now + way;
  };

  // drag
  let press = null;
  let stopClick = false;
  document.addEventListener("pointerdown", (event) => {
    const hung = event.target.closest?.("#outputs .hung");
    if (!usable() || held || !hung || event.button !== 0 || event.pointerType !== "mouse" && !event.target.closest(".hold")) return;
    press = { hung, x: event.clientX, y: event.clientY, id: event.pointerId };
  });
  document.addEventListener("pointermove", (event) => {
    if (press && !held && Math.hypot(event.clientX - press.x, event.clientY - press.y) > START_PX) {
      pickUp(press.hung);
      held.ghost = press.hung.cloneNode(true);
      held.ghost.classList.add("ghost");
      document.body.append(held.ghost);
    }
    if (!press || !held?.ghost) return;
    event.preventDefault();
    held.ghost.style.transform = `translate(${event.clientX + 8}px, ${event.clientY + 8}px)`;
    if (event.clientY < EDGE_PX) window.scrollBy(0, -12);
    if (event.clientY > window.innerHeight - EDGE_PX) window.scrollBy(0, 12);
    const slot = document.elementFromPoint(event.clientX, event.clientY)?.closest("#outputs .slot") ?? null;
    if (slot !== held.at) point(slot);
  });
  document.addEventListener("pointerup", () => {
    const dragged = press && held?.ghost;
    press = null;
    if (!dragged) return;
    putDown(held.at);
    stopClick = true; // the click that ends a drag is none
    setTimeout(() => { stopClick = false; }, 0);
  });
  document.addEventListener("pointercancel", () => { press = null; if (held?.ghost) giveUp(); });
  document.addEventListener("dragstart", (event) => { if (event.target.closest?.("#outputs .hung")) event.preventDefault(); });

  // after a move: the focus where it was, and what was said
  document.addEventListener("htmx:afterSettle", () => {
    if (!board()) return;
    board().classList.toggle("can-drag", Boolean(usable()));
    if (back === null) return;
    const hung = [...board().querySelectorAll(".hung")].find((each) => each.dataset.key === back);
    hung?.querySelector(".hold")?.focus();
    back = null;
    say([...document.querySelectorAll("#messages .message span")].map((each) => each.textContent).join(" "));
  });
  board()?.classList.toggle("can-drag", Boolean(usable()));
})();
