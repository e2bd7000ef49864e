// The box that finds anything: keys for what it offers. Without this it is a plain form.
"use strict";

(() => {
  const form = document.querySelector("form[data-find]");
  if (!form) return;
  const field = form.querySelector("input[type='search']");
  const offers = form.querySelector(".offers");
  field.setAttribute("role", "combobox");
  field.setAttribute("aria-autocomplete", "list");
  field.setAttribute("aria-controls", "find-list");
  field.setAttribute("aria-expanded", "false");

  const options = () => [...offers.querySelectorAll("[role='option']")];
  const chosen = () => offers.querySelector("[aria-selected='true']");

  function choose(option) {
    for (const other of options()) other.setAttribute("aria-selected", String(other === option));
    if (option) {
      field.setAttribute("aria-activedescendant", option.id);
      option.scrollIntoView({ block: "nearest" });
    } else field.removeAttribute("aria-activedescendant");
  }

  function open(wanted) {
    offers.hidden = !wanted || !offers.firstElementChild;
    field.setAttribute("aria-expanded", String(!offers.hidden && options().length > 0));
    if (offers.hidden) choose(null);
  }

  function step(by) {
    const all = options();
    if (!all.length) return;
    const at = all.indexOf(chosen()) + by;
    choose(at < -1 ? all[all.length - 1] : at === -1 || at >= all.length ? null : all[at]);
  }

  document.body.addEventListener("htmx:afterSwap", (event) => {
    if (event.detail.target !== offers) return;
    choose(null);
    open(document.activeElement === field);
  });

  field.addEventListener("keydown", (event) => {
    if (event.isComposing) return;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      if (offers.hidden) open(true);
      step(event.key === "ArrowDown" ? 1 : -1);
    } else if (event.key === "Enter" && chosen()) {
      event.preventDefault();
      chosen().click();
    } else if (event.key === "Escape" && !offers.hidden) {
      event.preventDefault();
      open(false);
    }
  });

  offers.addEventListener("mousedown", (event) => event.preventDefault()); // the cursor stays in the box
  form.addEventListener("focusout", (event) => {
    if (!form.contains(event.relatedTarget)) open(false);
  });

  document.addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
    if (event.target.closest("input, textarea, select, [contenteditable]")) return;
    event.preventDefault();
    field.focus();
    field.select();
  });
})();
