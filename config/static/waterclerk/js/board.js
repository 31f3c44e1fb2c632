// The week board and a day's page: a visit shows its number on the map, and the other way round;
// on the board a visit is dragged to another day, tester or place, and the page's form does the
// rest. Without a pointer the same is done from the visit's own page.
(() => {
  "use strict";
  for (const visit of document.querySelectorAll("[data-visit]")) {
    const discs = [...document.querySelectorAll(`[data-key="${visit.dataset.visit}"]`)];
    const pick = (on) => [visit, ...discs].forEach((one) => one.classList.toggle("picked", on));
    for (const part of discs.length ? [visit, ...discs] : []) {
      part.addEventListener("mouseenter", () => pick(true));
      part.addEventListener("mouseleave", () => pick(false));
      part.addEventListener("focusin", () => pick(true));
      part.addEventListener("focusout", () => pick(false));
    }
  }

  const form = document.getElementById("move");
  if (!form) return;
  let dragged = null;

  const stopsOf = (cell) => [...cell.querySelectorAll("li[data-stop]")];

  const placeAt = (cell, y) => {
    const before = stopsOf(cell).filter((stop) => {
      const box = stop.getBoundingClientRect();
      return stop !== dragged && box.top + box.height / 2 < y;
    });
    return before.length + 1;
  };

  for (const stop of document.querySelectorAll("li[data-stop]")) {
    stop.draggable = true;
    stop.addEventListener("dragstart", (event) => {
      dragged = stop;
      event.dataTransfer.effectAllowed = "move";
      event.dataTransfer.setData("text/plain", stop.textContent.trim());
    });
    stop.addEventListener("dragend", () => { dragged = null; });
  }

  for (const cell of document.querySelectorAll("td[data-day]")) {
    cell.addEventListener("dragover", (event) => {
      if (!dragged) return;
      event.preventDefault();
      event.dataTransfer.dropEffect = "move";
      cell.classList.add("target");
    });
    cell.addEventListener("dragleave", () => cell.classList.remove("target"));
    cell.addEventListener("drop", (event) => {
      cell.classList.remove("target");
      if (!dragged) return;
      event.preventDefault();
      const place = placeAt(cell, event.clientY);
      const was = dragged.closest("td");
      if (was === cell && place === stopsOf(cell).indexOf(dragged) + 1) return;
      form.action = dragged.dataset.stop;
      form.elements.revision.value = dragged.dataset.revision;
      form.elements.day.value = cell.dataset.day;
      form.elements.place.value = String(place);
      form.submit();
    });
  }
})();
