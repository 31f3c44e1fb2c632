// The map beside a list: our own drawn base (streets from addresses, a grid of degrees), no tiles.
// Everything it shows stands in the list; where scripts are off, the list is enough.
(function () {
  "use strict";

  var GRATICULE_STEPS = [0.005, 0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1, 2, 5, 10];

  function part(name, className, text) {
    var made = document.createElement(name);
    if (className) { made.className = className; }
    if (text !== undefined) { made.textContent = text; }
    return made;
  }

  function mark(box, name) {
    var svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    var use = document.createElementNS("http://www.w3.org/2000/svg", "use");
    svg.setAttribute("class", "mark");
    svg.setAttribute("aria-hidden", "true");
    use.setAttribute("href", box.dataset.marks + "#" + name);
    svg.appendChild(use);
    return svg;
  }

  function icon(element, className, size) {
    return L.divIcon({ html: element, className: className, iconSize: [size, size], iconAnchor: [size / 2, size / 2] });
  }

  function count(number, one, many) { return number.toLocaleString("en") + "\u00a0" + (number === 1 ? one : many); }

  function graticule(map, layer) {
    layer.clearLayers();
    var bounds = map.getBounds();
    var wide = bounds.getEast() - bounds.getWest();
    var step = GRATICULE_STEPS.find(function (one) { return wide / one <= 8; }) || 20;
    var look = { className: "graticule", interactive: false };
    for (var lat = Math.floor(bounds.getSouth() / step) * step; lat <= bounds.getNorth(); lat += step) {
      L.polyline([[lat, bounds.getWest() - wide], [lat, bounds.getEast() + wide]], look).addTo(layer);
    }
    for (var lon = Math.floor(bounds.getWest() / step) * step; lon <= bounds.getEast(); lon += step) {
      L.polyline([[bounds.getSouth() - wide, lon], [bounds.getNorth() + wide, lon]], look).addTo(layer);
    }
  }

  function streets(lines, edges, tops) {
    lines.forEach(function (one) {
      var ends = [[one[1], one[2]], [one[3], one[4]]];
      L.polyline(ends, { className: "street-edge", weight: 5, interactive: false }).addTo(edges);
      L.polyline(ends, { className: "street", weight: 3.5, interactive: false }).addTo(tops);
    });
  }

  function pin(box, one) {
    var disc = part("span", "disc " + one.standing);
    disc.appendChild(mark(box, one.standing));
    var words = one.words + ", " + count(one.assemblies, "assembly", "assemblies") + ", " + one.standing;
    var marker = L.marker([one.lat, one.lon], { icon: icon(disc, "premises-pin", 21), alt: words, title: one.words, keyboard: true });
    var said = part("div");
    var link = part("a", "", one.words);
    link.href = one.href;
    var strong = part("strong");
    strong.appendChild(link);
    said.appendChild(strong);
    said.appendChild(part("br"));
    said.appendChild(document.createTextNode(count(one.assemblies, "assembly", "assemblies") + ", gravest " + one.standing));
    marker.bindPopup(said, { autoPanPadding: [30, 30] });
    marker.on("popupopen", function () { link.focus(); });
    marker.on("add", function () {
      var element = marker.getElement();
      element.setAttribute("role", "button");
      element.setAttribute("aria-label", words);
    });
    return marker;
  }

  function ring(box, map, one) {
    var circle = part("span", "close-together " + one.standing);
    circle.appendChild(mark(box, one.standing));
    circle.appendChild(part("span", "", one.premises.toLocaleString("en")));
    var words = count(one.premises, "premises", "premises") + " close together, gravest " + one.standing;
    var marker = L.marker([one.lat, one.lon], { icon: icon(circle, "premises-pin", 34), alt: words, title: words, keyboard: true });
    marker.on("click", function () { map.setView([one.lat, one.lon], Math.min(map.getZoom() + 2, 18)); });
    marker.on("add", function () {
      var element = marker.getElement();
      element.setAttribute("role", "button");
      element.setAttribute("aria-label", words);
    });
    return marker;
  }

  function north(map) {
    var control = L.control({ position: "bottomright" });
    control.onAdd = function () {
      var sign = part("div", "north", "N");
      var svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
      svg.setAttribute("viewBox", "0 0 12 38");
      svg.setAttribute("aria-hidden", "true");
      svg.innerHTML = '<path class="solid" d="M6 0l5 18H1z"/><path class="hollow" d="M6 37l5-18H1z"/>';
      sign.appendChild(svg);
      return sign;
    };
    control.addTo(map);
  }

  function start(box) {
    var map = L.map(box, { attributionControl: false, zoomSnap: 0.25, minZoom: 3, maxZoom: 19, fadeAnimation: false, scrollWheelZoom: false });
    var grid = L.layerGroup().addTo(map);
    var edges = L.layerGroup().addTo(map);
    var tops = L.layerGroup().addTo(map);
    var pins = L.layerGroup().addTo(map);
    var asked = 0;

    function address(more) { return box.dataset.pins + (box.dataset.pins.endsWith("?") ? "" : "&") + more; }

    function show(answer) {
      pins.clearLayers();
      answer.pins.slice().reverse().forEach(function (one) { pins.addLayer(pin(box, one)); });
      answer.clusters.forEach(function (one) { pins.addLayer(ring(box, map, one)); });
    }

    function refresh() {
      graticule(map, grid);
      var bounds = map.getBounds().pad(0.1);
      var turn = ++asked;
      var where = "z=" + Math.round(map.getZoom()) + "&s=" + bounds.getSouth() + "&w=" + bounds.getWest() + "&n=" + bounds.getNorth() + "&e=" + bounds.getEast();
      fetch(address(where), { credentials: "same-origin" })
        .then(function (reply) { return reply.json(); })
        .then(function (answer) { if (turn === asked) { show(answer); box.dataset.ready = "yes"; } });
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
        map.fitBounds(answer.extent, { padding: [18, 18], maxZoom: 16 });
        streets(answer.streets || [], edges, tops);
        L.control.scale({ metric: false, position: "bottomright" }).addTo(map);
        north(map);
        map.on("moveend", refresh);
        refresh();
      });
  }

  document.querySelectorAll("#map").forEach(start);
}());
