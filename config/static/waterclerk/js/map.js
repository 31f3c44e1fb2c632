// The pins of a list, one for each premises by its worst standing; close together they are a ring
// with the worst of them and their count. List and map show each other. Where scripts are off, the
// list is enough, and the map is a drawing on a page of its own.
(function () {
  "use strict";

  var part = window.WaterclerkMap.part;

  function count(number, one, many) { return number.toLocaleString("en") + "\u00a0" + (number === 1 ? one : many); }

  function mark(box, name) {
    var svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    var use = document.createElementNS("http://www.w3.org/2000/svg", "use");
    svg.setAttribute("class", "mark");
    svg.setAttribute("aria-hidden", "true");
    use.setAttribute("href", box.dataset.marks + "#" + name);
    svg.appendChild(use);
    return svg;
  }

  function button(at, element, size, words) {
    var icon = L.divIcon({ html: element, className: "premises-pin", iconSize: [size, size], iconAnchor: [size / 2, size / 2] });
    var marker = L.marker(at, { icon: icon, alt: words, title: words, keyboard: true });
    marker.on("add", function () {
      var made = marker.getElement();
      made.setAttribute("role", "button");
      made.setAttribute("aria-label", words);
    });
    return marker;
  }

  function pin(box, one) {
    var disc = part("span", "disc " + one.standing);
    disc.appendChild(mark(box, one.standing));
    var assemblies = count(one.assemblies, "assembly", "assemblies");
    var marker = button([one.lat, one.lon], disc, 21, one.words + ", " + assemblies + ", " + one.standing);
    var said = part("div"), strong = part("strong"), link = part("a", "", one.words);
    link.href = one.href;
    strong.appendChild(link);
    said.appendChild(strong);
    said.appendChild(part("br"));
    said.appendChild(document.createTextNode(assemblies + ", gravest " + one.standing));
    marker.bindPopup(said, { autoPanPadding: [30, 30] });
    marker.on("popupopen", function () { link.focus(); });
    marker.on("popupclose", function () { marker.getElement().focus({ preventScroll: true }); });
    return marker;
  }

  function ring(box, map, one) {
    var circle = part("span", "close-together " + one.standing);
    circle.appendChild(mark(box, one.standing));
    circle.appendChild(part("span", "", one.premises.toLocaleString("en")));
    var words = count(one.premises, "premises", "premises") + " close together, gravest " + one.standing;
    var marker = button([one.lat, one.lon], circle, 34, words);
    marker.on("click", function () { map.setView([one.lat, one.lon], Math.min(map.getZoom() + 2, 18)); });
    return marker;
  }

  // The list and the map, each showing what the other points at.
  function together(map, pins) {
    var rows = [].slice.call(document.querySelectorAll("tr[data-lat]")).map(function (row) {
      return { row: row, id: Number(row.dataset.premises), at: L.latLng(Number(row.dataset.lat), Number(row.dataset.lon)) };
    });
    var shown = L.layerGroup().addTo(map);

    function pick(chosen) {
      rows.forEach(function (one) { one.row.classList.toggle("picked", chosen(one)); });
    }

    function circle(at) {
      shown.clearLayers();
      if (at) {
        L.marker(at, { icon: L.divIcon({ className: "picked-ring", iconSize: [32, 32] }), interactive: false, keyboard: false, zIndexOffset: -1000 }).addTo(shown);
      }
    }

    rows.forEach(function (one) {
      function on() { circle(one.at); pick(function (other) { return other.id === one.id; }); }
      function off() { circle(null); pick(function () { return false; }); }
      one.row.addEventListener("mouseenter", on);
      one.row.addEventListener("mouseleave", off);
      one.row.addEventListener("focusin", function () { on(); if (!map.getBounds().contains(one.at)) { map.panTo(one.at); } });
      one.row.addEventListener("focusout", off);
      one.row.addEventListener("click", function (event) {
        if (event.target.closest("a")) { return; }
        map.setView(one.at, Math.max(map.getZoom(), 16));
      });
    });

    return function (marker, holds) {
      function on() { pick(holds); }
      function off() { pick(function () { return false; }); }
      marker.on("mouseover popupopen", on);
      marker.on("mouseout popupclose", off);
      marker.on("add", function () {
        marker.getElement().addEventListener("focus", on);
        marker.getElement().addEventListener("blur", off);
      });
      pins.addLayer(marker);
    };
  }

  function start(box) {
    var marks = [], asked = 0;
    var ground = window.WaterclerkMap.open(box, function () { return marks; });
    var map = ground.map, pins = L.layerGroup().addTo(map), add = together(map, pins);

    function address(more) { return box.dataset.pins + (box.dataset.pins.endsWith("?") ? "" : "&") + more; }

    function show(answer) {
      pins.clearLayers();
      marks = [];
      answer.pins.forEach(function (one) { marks.push({ at: [one.lat, one.lon], half: 10 }); });
      answer.clusters.forEach(function (one) { marks.push({ at: [one.lat, one.lon], half: 26 }); });
      answer.pins.slice().reverse().forEach(function (one) {
        add(pin(box, one), function (row) { return row.id === one.id; });
      });
      answer.clusters.forEach(function (one) {
        var holds = L.latLngBounds(one.holds);
        add(ring(box, map, one), function (row) { return holds.contains(row.at); });
      });
      ground.name();
      box.dataset.ready = "yes";
    }

    function refresh() {
      var bounds = map.getBounds().pad(0.1), turn = ++asked;
      var where = "z=" + Math.round(map.getZoom()) + "&s=" + bounds.getSouth() + "&w=" + bounds.getWest() + "&n=" + bounds.getNorth() + "&e=" + bounds.getEast();
      fetch(address(where), { credentials: "same-origin" })
        .then(function (reply) { return reply.json(); })
        .then(function (answer) { if (turn === asked) { show(answer); } });
    }

    fetch(address("base=1&z=1"), { credentials: "same-origin" })
      .then(function (reply) { return reply.json(); })
      .then(function (answer) {
        if (!answer.extent) {
          box.hidden = true;
          var key = document.getElementById("after-map");
          if (key) { key.textContent = "No premises of this list has coordinates yet; add them on its page."; }
          return;
        }
        map.on("moveend", refresh);
        map.fitBounds(answer.extent, { padding: [18, 18], maxZoom: 16 });
      });
  }

  document.querySelectorAll("#map").forEach(start);
}());
