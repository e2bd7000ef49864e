// Sliders say where they stand while they are dragged. Without this the page says it when it is sent.
"use strict";

(() => {
  const words = (dial, value) => {
    if (dial.dataset.months) return dial.dataset.months.split("|")[value - 1];
    const number = String(Math.abs(value));
    const sign = value < 0 ? "\u2212" : value > 0 ? dial.dataset.sign : "";
    return `${sign}${number}\u00a0${dial.dataset.unit}`;
  };

  document.addEventListener("input", (event) => {
    const field = event.target;
    const dial = field.type === "range" && field.closest(".dial");
    if (!dial) return;
    const rests = Math.abs(field.value - field.dataset.rest) < field.step / 2;
    const said = rests ? dial.dataset.restWords : words(dial, Number(field.value));
    dial.classList.toggle("moved", !rests);
    dial.querySelector("output").textContent = said;
    field.setAttribute("aria-valuetext", said);
  });
})();
