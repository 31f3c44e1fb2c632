// The picture of a paper beside its form: larger, smaller, turned, by button and by key; it goes to
// where the field being keyed stands, once somebody has shown that place.
(function () {
  "use strict";
  var view = document.getElementById("paper-view");
  if (!view) { return; }
  var pages = Array.from(view.querySelectorAll("img")), says = document.getElementById("paper-says");
  var told = document.getElementById("paper-spots"), form = document.getElementById("entry");
  var spots = told ? JSON.parse(told.textContent) : {};
  var size = 1, turned = 0, at = 0, field = "", NEAR = 2.4, MOST = 6;

  function say(words) { says.textContent = words; }

  // The picture is laid out by size and turn; the view scrolls over it.
  function lay() {
    var across = view.clientWidth;
    pages.forEach(function (one, place) {
      var isHere = place === at, isLying = turned % 180 !== 0;
      one.hidden = !isHere;
      if (!isHere) { return; }
      var shape = Number(one.getAttribute("height")) / Number(one.getAttribute("width"));
      var wide = across * size / (isLying ? shape : 1), high = wide * shape;
      one.style.width = wide + "px";
      one.style.height = high + "px";
      one.style.transformOrigin = "0 0";
      one.style.transform = turned === 90 ? "translateX(" + high + "px) rotate(90deg)" : turned === 180 ?
        "translate(" + wide + "px," + high + "px) rotate(180deg)" : turned === 270 ? "translateY(" + wide + "px) rotate(270deg)" : "none";
      one.style.marginRight = isLying ? high - wide + "px" : "0";
      one.style.marginBottom = isLying ? wide - high + "px" : "0";
    });
  }

  function shown() { return { wide: view.scrollWidth, high: view.scrollHeight }; }

  // The middle of what is seen, in parts of the picture as it lies.
  function middle() {
    var all = shown();
    return { across: (view.scrollLeft + view.clientWidth / 2) / all.wide, down: (view.scrollTop + view.clientHeight / 2) / all.high };
  }

  function goTo(across, down) {
    var all = shown();
    view.scrollLeft = across * all.wide - view.clientWidth / 2;
    view.scrollTop = down * all.high - view.clientHeight / 2;
  }

  function scale(factor) {
    var was = middle();
    size = Math.min(MOST, Math.max(1, size * factor));
    lay();
    goTo(was.across, was.down);
  }

  function turn() { turned = (turned + 90) % 360; lay(); say("Turned by " + turned + " degrees."); }
  function whole() { size = 1; lay(); view.scrollLeft = view.scrollTop = 0; }
  function next() { at = (at + 1) % pages.length; lay(); say("Page " + (at + 1) + " of " + pages.length + "."); }

  function token() {
    var match = /(?:^|; )csrftoken=([^;]+)/.exec(document.cookie);
    return match ? decodeURIComponent(match[1]) : "";
  }

  function label(name) {
    var found = form && (form.querySelector("label[for='" + name + "']") || form.querySelector("[data-blank='" + name + "'] legend") || form.querySelector("#" + name + "_label"));
    return found ? found.firstChild.textContent.trim() : name;
  }

  function here() {
    if (!field) { say("Choose a field of the form first, then show where it stands."); return; }
    if (turned) { say("Turn the page upright first; places are kept for the upright page."); return; }
    var spot = middle(), name = field;
    spots[name] = [at + 1, spot.across, spot.down];
    fetch(view.dataset.spot, { method: "POST", credentials: "same-origin", headers: { "Content-Type": "application/json", "X-CSRFToken": token() },
      body: JSON.stringify({ field: name, page: at + 1, across: spot.across, down: spot.down }) })
      .then(function (answer) { say(answer.ok ? "Kept: “" + label(name) + "” stands here on this form." : "Not kept. Try again."); },
        function () { say("Not kept: no connection."); });
  }

  function follow(event) {
    var name = event.target.name || "";
    if (!name || name === "client_id") { return; }
    field = name.replace(/_other$/, "");
    var spot = spots[field];
    if (!spot || turned) { return; }
    at = Math.min(pages.length, spot[0]) - 1;
    size = Math.max(size, NEAR);
    lay();
    goTo(spot[1], spot[2]);
  }

  var acts = { "in": function () { scale(1.4); }, out: function () { scale(1 / 1.4); }, turn: turn, whole: whole, next: next, here: here };
  var keys = { "+": "in", "=": "in", "-": "out", "−": "out", r: "turn", R: "turn", "0": "whole", n: "next", N: "next", m: "here", M: "here" };
  document.querySelectorAll(".paper-acts").forEach(function (one) { one.hidden = false; });
  document.querySelectorAll(".paper-acts button").forEach(function (one) {
    one.addEventListener("click", function () { acts[one.dataset.act](); });
  });
  view.addEventListener("keydown", function (event) {
    var name = keys[event.key];
    if (!name || event.ctrlKey || event.metaKey || event.altKey || (name === "here" && !told) || (name === "next" && pages.length < 2)) { return; }
    event.preventDefault();
    acts[name]();
  });
  // Two clicks bring a place near.
  view.addEventListener("dblclick", function (event) {
    var box = view.getBoundingClientRect(), all = shown();
    var across = (view.scrollLeft + event.clientX - box.left) / all.wide, down = (view.scrollTop + event.clientY - box.top) / all.high;
    size = size < NEAR ? NEAR : 1;
    lay();
    goTo(across, down);
  });
  if (form) { form.addEventListener("focusin", follow); }
  window.addEventListener("resize", lay);
  lay();
  document.documentElement.dataset.paper = "ready";
}());
