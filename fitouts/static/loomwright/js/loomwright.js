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

// After a swap that asked for it, the first field that is wrong, or the first field, gets the cursor.
document.addEventListener("htmx:afterSwap", (event) => {
  const place = event.target.querySelector?.("[aria-invalid='true'], [autofocus]");
  if (place) place.focus();
});

// On a narrow screen the way about scrolls sideways; where one is comes into sight.
for (const here of document.querySelectorAll("nav [aria-current='page']")) {
  const nav = here.closest("nav");
  if (nav.scrollWidth > nav.clientWidth) nav.scrollLeft = here.offsetLeft - nav.clientWidth / 2 + here.offsetWidth / 2;
}
