// The page reads whole without this; it only helps where a browser does not do it by itself.
"use strict";

// On paper everything is open, and afterwards as it was.
let opened = [];
addEventListener("beforeprint", () => {
  opened = [...document.querySelectorAll("details:not([open])")];
  for (const part of opened) part.open = true;
});
addEventListener("afterprint", () => {
  for (const part of opened) part.open = false;
  // The next print is of the whole book again.
  if (location.hash.startsWith("#only-")) location.replace(location.hash.replace("#only-", "#shape-"));
});

// One shape is printed at once; without this its link only chooses what a print would show.
for (const link of document.querySelectorAll(".paper a")) {
  link.addEventListener("click", () => requestAnimationFrame(() => print()));
}

// Without popovers, a value leads to its rule.
if (!("popover" in HTMLElement.prototype)) {
  for (const button of document.querySelectorAll(".why-of")) {
    button.addEventListener("click", () => {
      location.hash = button.getAttribute("popovertarget").replace(/^why-/, "");
    });
  }
}

// A link out of a reason closes it, so that the rule it leads to is in sight.
for (const link of document.querySelectorAll(".why a[href^='#']")) {
  link.addEventListener("click", () => link.closest(".why").hidePopover?.());
}

// Everything opened at once, for whoever reads from top to bottom.
const all = document.createElement("button");
all.type = "button";
all.className = "open-all";
all.textContent = "Open everything";
all.addEventListener("click", () => {
  const open = all.textContent === "Open everything";
  for (const part of document.querySelectorAll("details")) part.open = open;
  all.textContent = open ? "Close everything" : "Open everything";
});
document.querySelector(".contents")?.append(all);
