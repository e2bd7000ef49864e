// Small helps. Every page works without them.
"use strict";

// Light, dark or as the system has it; kept in a cookie so that the server draws the page right at once.
document.addEventListener("change", (event) => {
  const field = event.target;
  if (field.name === "theme" && field.closest("[data-theme-switch]")) {
    const year = 365 * 24 * 3600;
    document.cookie = `theme=${field.value}; path=/; max-age=${field.value === "system" ? 0 : year}; samesite=lax`;
    if (field.value === "system") delete document.documentElement.dataset.theme;
    else document.documentElement.dataset.theme = field.value;
    return;
  }
  const form = field.closest("form[data-autosubmit]");
  if (form && (field.tagName === "SELECT" || field.type === "checkbox")) form.requestSubmit();
});

// A row that opens gets the cursor in its first wrong field, or its first; a row that closes, on its way back in.
document.addEventListener("htmx:load", (event) => {
  const row = event.detail.elt;
  if (!row.matches?.("tr[id^='line-'], tr[id^='stop-']")) return;
  const wanted = row.matches(".writing")
    ? row.querySelector("[aria-invalid='true']") || row.querySelector("input:not([type='hidden']), select")
    : document.activeElement === document.body && row.querySelector(".act a");
  if (wanted) wanted.focus();
});

// Escape leaves an open row as it was.
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape" || event.isComposing) return;
  const leave = event.target.closest?.("tr.writing")?.querySelector("a[hx-get$='?leave']");
  if (leave) leave.click();
});

// On a narrow screen the way about scrolls sideways; where one is comes into sight.
for (const here of document.querySelectorAll("nav [aria-current='page']")) {
  const nav = here.closest("nav");
  if (nav.scrollWidth > nav.clientWidth) nav.scrollLeft = here.offsetLeft - nav.clientWidth / 2 + here.offsetWidth / 2;
}
