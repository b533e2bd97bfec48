// A new design: another shape brings its own size along, unless a size was typed. Nothing here is needed for the page to work.
"use strict";

(() => {
  const form = document.getElementById("starting");
  const shapes = [...form.querySelectorAll("input[data-height]")];
  const original = form.elements.namedItem("original");

  // What stands in a field is the offered size of some shape, or was typed.
  const offered = (name, value) => shapes.some((shape) => shape.dataset[name] === value);

  form.addEventListener("change", ({ target }) => {
    if (target === original && original.value) form.elements.namedItem("id_start_copy").checked = true;
    if (!target.dataset.height) return;
    for (const name of ["height", "diameter"]) {
      const field = form.elements.namedItem(name);
      if (offered(name, field.value)) field.value = target.dataset[name];
    }
  });
})();
