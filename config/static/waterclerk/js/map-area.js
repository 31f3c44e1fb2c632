// An area drawn on the map: by pointer freely or corner by corner, by keyboard from the area of the
// view, whose corners arrow keys move. It goes to the server with the form; the list it answers
// with is looked at before anything is assigned. Without scripts the squares do the same.
(function () {
  "use strict";

  var box = document.getElementById("area-map"), field = document.getElementById("area-corners");
  if (!box || !field) { return; }
  var part = window.WaterclerkMap.part;
  var places = JSON.parse(document.getElementById("places").textContent);
  var corners = field.value ? field.value.split(";").map(function (one) { return L.latLng(one.split(",").map(Number)); }) : [];
  var MOST = 40, STEP = 8, FAR = 40;

  box.hidden = false;
  document.getElementById("area-drawn").hidden = true;
  var tools = part("p", "acts area-tools"), line = part("p", "small");
  line.setAttribute("role", "status");
  box.before(tools);
  box.after(line);

  var named = [], map = window.WaterclerkMap.open(box, function () { return named; }).map;
  var ends = box.dataset.squares.split(",").map(Number);
  map.fitBounds([[ends[0], ends[1]], [ends[2], ends[3]]], { padding: [18, 18], maxZoom: 16 });
  var dots = L.layerGroup().addTo(map), net = L.layerGroup().addTo(map);
  var shape = L.polygon([], { className: "drawn-area", interactive: false }).addTo(map);
  var trace = L.polyline([], { className: "drawn-area open", interactive: false }).addTo(map);
  var handles = L.layerGroup().addTo(map);
  var drawing = false, path = [], isHeld = false;

  function tool(words, act) {
    var made = part("button", "", words);
    made.type = "button";
    made.addEventListener("click", act);
    tools.appendChild(made);
    return made;
  }

  function isIn(place) {
    var found = false;
    corners.forEach(function (a, n) {
      var b = corners[(n + 1) % corners.length];
      if ((a.lat > place[0]) !== (b.lat > place[0]) && place[1] < a.lng + (place[0] - a.lat) / (b.lat - a.lat) * (b.lng - a.lng)) { found = !found; }
    });
    return found;
  }

  function say() {
    if (drawing) { line.textContent = "Draw around the premises, or press for each corner. Enter closes the area, Escape gives it up."; return; }
    if (!corners.length) { line.textContent = "No area is drawn."; return; }
    var each = Number(box.dataset.each) || 1, inside = places.filter(isIn).length * each;
    line.textContent = corners.length + " corners around " + (each > 1 ? "about " : "") + inside.toLocaleString("en") + "\u00a0premises with work due. Show lists them; nothing is assigned before.";
  }

  function keep() {
    field.value = corners.map(function (one) { return one.lat.toFixed(6) + "," + one.lng.toFixed(6); }).join(";");
    shape.setLatLngs(corners);
    say();
  }

  function moved(at, dx, dy) { return map.containerPointToLatLng(map.latLngToContainerPoint(at).add([dx, dy])); }

  function label(marker, number) {
    marker.getElement().setAttribute("aria-label", "Corner " + (number + 1) + " of " + corners.length + ". Arrow keys move it, plus adds a corner after it, Delete takes it away.");
  }

  function handle(number) {
    var icon = L.divIcon({ html: part("span"), className: "corner", iconSize: [24, 24] });
    var marker = L.marker(corners[number], { icon: icon, draggable: true, keyboard: true });
    marker.on("drag", function () { corners[number] = marker.getLatLng(); keep(); });
    marker.on("add", function () {
      var made = marker.getElement();
      made.setAttribute("role", "button");
      label(marker, number);
      made.addEventListener("keydown", function (event) { press(event, number, marker); });
    });
    return marker;
  }

  function press(event, number, marker) {
    var by = event.shiftKey ? FAR : STEP;
    var steps = { ArrowUp: [0, -by], ArrowDown: [0, by], ArrowLeft: [-by, 0], ArrowRight: [by, 0] };
    var step = steps[event.key];
    if (step) {
      corners[number] = moved(corners[number], step[0], step[1]);
      marker.setLatLng(corners[number]);
      keep();
    } else if (event.key === "+" || event.key === "Insert") {
      var next = corners[(number + 1) % corners.length];
      corners.splice(number + 1, 0, L.latLng((corners[number].lat + next.lat) / 2, (corners[number].lng + next.lng) / 2));
      show(number + 1);
    } else if (event.key === "Delete" && corners.length > 3) {
      corners.splice(number, 1);
      show(Math.min(number, corners.length - 1));
    } else { return; }
    event.preventDefault();
    event.stopPropagation();
  }

  function show(focus) {
    handles.clearLayers();
    var made = corners.map(function (_, number) { return handle(number).addTo(handles); });
    keep();
    if (focus !== undefined && made[focus]) { made[focus].getElement().focus(); }
  }

  function begin() {
    drawing = true;
    path = [];
    corners = [];
    show();
    box.classList.add("drawing");
    map.dragging.disable();
    map.doubleClickZoom.disable();
    box.focus({ preventScroll: true });
    say();
  }

  function end(isKept) {
    drawing = false;
    isHeld = false;
    box.classList.remove("drawing");
    map.dragging.enable();
    map.doubleClickZoom.enable();
    trace.setLatLngs([]);
    var px = path.map(function (one) { return map.latLngToContainerPoint(one); });
    for (var off = 3; px.length > MOST; off += 3) { px = L.LineUtil.simplify(px, off); }
    corners = isKept && px.length > 2 ? px.map(function (one) { return map.containerPointToLatLng(one); }) : [];
    show();
  }

  function spot(event) { return map.mouseEventToLatLng(event); }

  function isNear(event) {
    return path.length > 2 && map.mouseEventToContainerPoint(event).distanceTo(map.latLngToContainerPoint(path[0])) < 14;
  }

  box.addEventListener("pointerdown", function (event) {
    if (!drawing || event.target.closest(".leaflet-control")) { return; }
    if (isNear(event)) { end(true); return; }
    isHeld = true;
    path.push(spot(event));
    trace.setLatLngs(path);
  });
  box.addEventListener("pointermove", function (event) {
    if (!drawing || !isHeld) { return; }
    var last = map.latLngToContainerPoint(path[path.length - 1]);
    if (map.mouseEventToContainerPoint(event).distanceTo(last) > 6) { path.push(spot(event)); trace.setLatLngs(path); }
  });
  window.addEventListener("pointerup", function () {
    if (!drawing || !isHeld) { return; }
    isHeld = false;
    // A stroke of many points is a whole area; a press is one corner of it.
    if (path.length > 12) { end(true); }
  });
  document.addEventListener("keydown", function (event) {
    if (!drawing) { return; }
    if (event.key === "Escape") { end(false); }
    if (event.key === "Enter" && path.length > 2) { event.preventDefault(); end(true); }
  });

  tool("Draw an area", begin);
  tool("Begin with the area of this view", function () {
    if (drawing) { end(false); }
    var size = map.getSize(), x = size.x * 0.25, y = size.y * 0.25;
    corners = [[x, y], [size.x - x, y], [size.x - x, size.y - y], [x, size.y - y]].map(function (one) { return map.containerPointToLatLng(one); });
    show(0);
  });
  tool("Take the area away", function () { path = []; if (drawing) { end(false); } corners = []; show(); });

  function squares(south, west, north, east) {
    for (var n = 0; n <= 6; n++) {
      var lon = west + (east - west) * n / 6;
      L.polyline([[south, lon], [north, lon]], { className: "net", interactive: false }).addTo(net);
    }
    for (var m = 0; m <= 4; m++) {
      var lat = south + (north - south) * m / 4;
      L.polyline([[lat, west], [lat, east]], { className: "net", interactive: false }).addTo(net);
      for (n = 0; m < 4 && n < 6; n++) {
        var at = [north - (north - south) * m / 4, west + (east - west) * n / 6];
        named.push({ at: at, half: 26 });
        var icon = L.divIcon({ html: part("span", "", "ABCDEF"[n] + (m + 1)), className: "square-name", iconSize: [0, 0] });
        L.marker(at, { icon: icon, interactive: false, keyboard: false, pane: "names" }).addTo(net);
      }
    }
  }

  squares(ends[0], ends[1], ends[2], ends[3]);
  var canvas = L.canvas(), colour = getComputedStyle(box).getPropertyValue("--ink-3");
  places.forEach(function (one) {
    L.circleMarker(one, { renderer: canvas, radius: 2.4, stroke: false, fillColor: colour, fillOpacity: 1, interactive: false }).addTo(dots);
  });
  show();
}());
