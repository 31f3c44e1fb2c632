// The ground of every map: land, a grid of miles, streets and water, names where there is room,
// a scale and north. All of it comes from this office; no tile is fetched from anywhere.
(function () {
  "use strict";

  var STEPS = [0.05, 0.1, 0.25, 0.5, 1, 2, 5, 10, 25, 50, 100, 250];
  var WORDS = { 0.25: "\u00bc\u00a0mile", 0.5: "\u00bd\u00a0mile", 1: "1\u00a0mile" };
  var MILE = 1609.344, DEGREE = 111320, GRID_PX = 56, LETTER_PX = 5.8, BEAD_PX = 13, BEND_PX = 4;
  var STREETS = ["main", "road", "street", "lane"];
  var SHARES = [0.5, 0.3, 0.7, 0.18, 0.82];

  function part(name, className, text) {
    var made = document.createElement(name);
    if (className) { made.className = className; }
    if (text !== undefined) { made.textContent = text; }
    return made;
  }

  function drawing(box, markup) {
    var svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    svg.setAttribute("viewBox", box);
    svg.setAttribute("aria-hidden", "true");
    svg.innerHTML = markup;
    return svg;
  }

  function still(map, layer, at, element, className) {
    var icon = L.divIcon({ html: element, className: className, iconSize: [0, 0] });
    L.marker(at, { icon: icon, interactive: false, keyboard: false, pane: "names" }).addTo(layer);
  }

  // Squares of a round number of miles, counted from the equator and Greenwich.
  function grid(map, layer, across) {
    layer.clearLayers();
    var bounds = map.getBounds(), size = map.getSize();
    var mile = MILE / DEGREE / (bounds.getNorth() - bounds.getSouth()) * size.y;
    var step = STEPS.find(function (one) { return one * mile >= GRID_PX; }) || 250;
    var look = { className: "grid", interactive: false, pane: "ground" };
    function said(degrees, plus, minus) { return Math.abs(degrees).toFixed(3) + "\u00b0 " + (degrees < 0 ? minus : plus); }
    function each(low, high, size, draw) {
      for (var n = Math.ceil(low / size); n * size <= high; n++) { draw(n * size); }
    }
    each(bounds.getSouth(), bounds.getNorth(), step * MILE / DEGREE, function (lat) {
      L.polyline([[lat, bounds.getWest() - 1], [lat, bounds.getEast() + 1]], look).addTo(layer);
      var y = map.latLngToContainerPoint([lat, bounds.getWest()]).y;
      if (y > 110) { still(map, layer, map.containerPointToLatLng([4, y - 15]), part("span", "", said(lat, "N", "S")), "grid-name"); }
    });
    each(bounds.getWest(), bounds.getEast(), step * MILE / (DEGREE * across), function (lon) {
      L.polyline([[bounds.getSouth() - 1, lon], [bounds.getNorth() + 1, lon]], look).addTo(layer);
      var x = map.latLngToContainerPoint([bounds.getNorth(), lon]).x;
      if (x > 60 && x < size.x - 62) { still(map, layer, map.containerPointToLatLng([x + 3, 1]), part("span", "", said(lon, "E", "W")), "grid-name"); }
    });
  }

  function pairs(flat) {
    var points = [];
    for (var i = 0; i < flat.length; i += 2) { points.push([flat[i], flat[i + 1]]); }
    return points;
  }

  function lines(found, layer) {
    var shapes = found.map(function (one) { return { kind: one[0], name: one[1], points: pairs(one[2]) }; });
    function draw(className, of, make) {
      shapes.filter(of).forEach(function (one) {
        make(one.points, { className: className + " of-" + one.kind, interactive: false, pane: "ground", smoothFactor: 1 }).addTo(layer);
      });
    }
    function isStreet(one) { return STREETS.indexOf(one.kind) >= 0; }
    draw("area", function (one) { return one.kind === "water"; }, L.polygon);
    draw("line", function (one) { return one.kind !== "water" && !isStreet(one); }, L.polyline);
    draw("street-edge", isStreet, L.polyline);
    draw("street", isStreet, L.polyline);
    return shapes;
  }

  function beads(x, y, ux, uy, wide) {
    var count = Math.max(Math.ceil(wide / BEAD_PX), 1), found = [];
    for (var n = 0; n < count; n++) {
      var step = ((n + 0.5) / count - 0.5) * wide;
      found.push([x + step * ux, y + step * uy]);
    }
    return found;
  }

  // The longest course that hardly bends: no point of it more than so many px off its chord.
  function longest(spots) {
    var best = null;
    for (var i = 0, end = 1; i < spots.length - 1; i++) {
      end = Math.max(end, i + 1);
      while (end + 1 < spots.length && isStraight(spots, i, end + 1)) { end++; }
      var length = spots[i].distanceTo(spots[end]);
      if (!best || length > best.length) { best = { from: spots[i], to: spots[end], length: length }; }
    }
    return best;
  }

  function isStraight(spots, first, last) {
    for (var i = first + 1; i < last; i++) {
      if (L.LineUtil.pointToSegmentDistance(spots[i], spots[first], spots[last]) > BEND_PX) { return false; }
    }
    return true;
  }

  // The parts of a line within the view.
  function runs(spots, view) {
    var found = [], last = null;
    for (var i = 1; i < spots.length; i++) {
      var ends = L.LineUtil.clipSegment(spots[i - 1], spots[i], view, false, true);
      if (!ends) { last = null; continue; }
      if (last && last[last.length - 1].equals(ends[0])) { last.push(ends[1]); } else { last = ends.slice(); found.push(last); }
    }
    return found;
  }

  // A name along the longest straight piece of its street, once, where it touches nothing.
  function names(map, layer, shapes, marks, degrees) {
    layer.clearLayers();
    var size = map.getSize(), taken = marks.map(function (one) {
      var spot = map.latLngToContainerPoint(one.at);
      return { x: spot.x, y: spot.y, half: one.half };
    }), named = {};
    // Degrees stand from the left of the line at the west edge, and right of one at the north edge.
    degrees.eachLayer(function (one) {
      if (!one.getLatLng) { return; }
      var spot = map.latLngToContainerPoint(one.getLatLng());
      taken.push({ x: spot.x + 27, y: spot.y + 8, half: 30 });
    });
    var view = L.bounds([0, 0], [size.x, size.y]);
    var pieces = shapes.filter(function (one) { return one.name && one.kind !== "county"; }).map(function (one) {
      var spots = one.points.map(function (point) { return map.latLngToContainerPoint(point); });
      var piece = runs(spots, view).map(longest).sort(function (a, b) { return b.length - a.length; })[0];
      return piece && { name: one.name, kind: one.kind, piece: piece };
    }).filter(Boolean).sort(function (a, b) { return b.piece.length - a.piece.length; });

    function isFree(bead) {
      if (bead[0] < 8 || bead[1] < 22 || bead[0] > size.x - 8 || bead[1] > size.y - 8) { return false; }
      if (bead[0] < 62 && bead[1] < 90 || bead[0] > size.x - 120 && bead[1] > size.y - 80) { return false; }
      return taken.every(function (one) { return Math.abs(one.x - bead[0]) > one.half + 7 || Math.abs(one.y - bead[1]) > 20; });
    }

    pieces.forEach(function (one) {
      var from = one.piece.from, to = one.piece.to, length = one.piece.length, wide = one.name.length * LETTER_PX;
      if (named[one.name] || length < wide + 12) { return; }
      var ux = (to.x - from.x) / length, uy = (to.y - from.y) / length;
      if (ux < 0 || ux === 0 && uy > 0) { ux = -ux; uy = -uy; }
      SHARES.some(function (share) {
        var at = Math.min(Math.max(share * length, wide / 2 + 4), length - wide / 2 - 4) / length;
        var x = from.x + (to.x - from.x) * at, y = from.y + (to.y - from.y) * at;
        var held = beads(x, y, ux, uy, wide);
        if (!held.every(isFree)) { return false; }
        held.forEach(function (bead) { taken.push({ x: bead[0], y: bead[1], half: 7 }); });
        var span = part("span", "", one.name);
        span.style.transform = "translate(-50%, -50%) rotate(" + Math.atan2(uy, ux) + "rad)";
        still(map, layer, map.containerPointToLatLng([x, y]), span, one.kind === "water" || one.kind === "river" ? "water-name" : "road-name");
        named[one.name] = true;
        return true;
      });
    });
  }

  // Round parts of a mile in words, under a quarter of one in feet, as on the drawn maps.
  var Scale = L.Control.Scale.extend({
    _updateImperial: function (metres) {
      var most = metres / MILE, miles = STEPS.filter(function (one) { return one <= most; }).pop() || STEPS[0];
      var words = miles < 0.25 ? Math.round(miles * 5280).toLocaleString("en") + "\u00a0ft" : WORDS[miles] || miles + "\u00a0miles";
      this._updateScale(this._iScale, words, miles / most);
    }
  });

  function corner(map) {
    new Scale({ metric: false, position: "bottomright", maxWidth: 90 }).addTo(map);
    var control = L.control({ position: "bottomright" });
    control.onAdd = function () {
      var sign = part("div", "north", "N");
      sign.appendChild(drawing("0 0 12 38", '<path class="solid" d="M6 0l5 18H1z"/><path class="hollow" d="M6 37l5-18H1z"/>'));
      return sign;
    };
    control.addTo(map);
  }

  // Opens a map in a box. `marks` answers where words must not go.
  function open(box, marks) {
    var map = L.map(box, { attributionControl: false, zoomSnap: 0.25, minZoom: 3, maxZoom: 19, fadeAnimation: false, scrollWheelZoom: false });
    map.createPane("ground").style.zIndex = 250;
    map.createPane("names").style.zIndex = 350;
    map.getPane("names").style.pointerEvents = "none";
    map.getPane("names").setAttribute("aria-hidden", "true");
    var squares = L.layerGroup().addTo(map), drawn = L.layerGroup().addTo(map);
    var still = L.layerGroup().addTo(map), words = L.layerGroup().addTo(map);
    var fromAddresses = [], fromFile = [], across = 0, asked = 0;

    function name() { names(map, words, fromFile.concat(fromAddresses), marks(), squares); }

    function say(sentences) {
      var line = document.getElementById(box.dataset.said);
      if (line) { line.textContent = sentences.map(function (one) { return one + ". "; }).join(""); }
    }

    function refresh() {
      across = across || Math.cos(map.getCenter().lat * Math.PI / 180);
      grid(map, squares, across);
      var bounds = map.getBounds().pad(0.25), turn = ++asked;
      var where = "?z=" + Math.round(map.getZoom()) + "&s=" + bounds.getSouth() + "&w=" + bounds.getWest() + "&n=" + bounds.getNorth() + "&e=" + bounds.getEast();
      fetch(box.dataset.ground + where + (turn === 1 ? "&base=1" : ""), { credentials: "same-origin" })
        .then(function (reply) { return reply.json(); })
        .then(function (answer) {
          if (answer.from_addresses) { fromAddresses = lines(answer.from_addresses, still); }
          if (turn !== asked) { return; }
          drawn.clearLayers();
          fromFile = lines(answer.lines, drawn);
          name();
          var streets = fromAddresses.length ? ["Light lines are streets as the addresses on record draw them"] : [];
          say(answer.said.concat(streets));
          box.dataset.drawn = "yes";
        });
    }

    map.on("moveend", refresh);
    corner(map);
    return { map: map, name: name };
  }

  window.WaterclerkMap = { open: open, part: part };
}());
