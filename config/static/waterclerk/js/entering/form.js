// The form on a device: its id is made when it opens, every key is saved to its draft, and handing it
// in freezes it into the outbox. Without this script the form is an ordinary one.
(function () {
  "use strict";
  var house = window.waterclerk;
  var form = document.getElementById("entry");
  if (!form || !window.indexedDB || !navigator.locks || !window.crypto || !crypto.subtle) { return; }
  var store = house.store, at = document.getElementById("signal").dataset;
  var device = JSON.parse(document.getElementById("entry-data").textContent);
  var place = at.user + " " + location.pathname;
  var draft = null, chain = Promise.resolve(), saved = "", shownTurns = "", isGoing = false, isOver = false, pad = null;
  var OURS = ["csrfmiddlewaretoken", "client_id"];

  function uuid() {
    if (crypto.randomUUID) { return crypto.randomUUID(); }
    var b = crypto.getRandomValues(new Uint8Array(16));
    b[6] = b[6] & 15 | 64; b[8] = b[8] & 63 | 128;
    var hex = Array.from(b, function (one) { return one.toString(16).padStart(2, "0"); }).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  }

  function fields() {
    var found = {};
    new FormData(form).forEach(function (value, name) {
      if (typeof value === "string" && OURS.indexOf(name) < 0) { found[name] = value; }
    });
    return found;
  }

  function restore(told) {
    Array.from(form.elements).forEach(function (one) {
      if (!one.name || OURS.indexOf(one.name) >= 0) { return; }
      var value = told[one.name];
      if (one.type === "checkbox" || one.type === "radio") { one.checked = value === one.value; }
      else if (value !== undefined) { one.value = value; }
    });
  }

  function show() { house.verdicts.show(form, device, saved); shownTurns = house.verdicts.turns(form, device); }

  function save() {
    if (isOver) { return chain; }
    draft.fields = fields();
    draft.signature = pad.png();
    var copy = JSON.parse(JSON.stringify(draft));
    chain = chain.then(function () { return store.put("drafts", copy); })
      .then(function () { saved = "Saved on this device."; }, function () { saved = "Not saved: the device has no room. Keep this page open."; });
    return chain;
  }

  function local(now) {
    var two = function (n) { return String(n).padStart(2, "0"); };
    return { day: now.getFullYear() + "-" + two(now.getMonth() + 1) + "-" + two(now.getDate()), time: two(now.getHours()) + ":" + two(now.getMinutes()) };
  }

  function reveal() {
    var found = fields();
    var isOpen = Object.keys(found).some(function (name) { return name.startsWith("final_") && found[name]; }) || found.repairs || draft.repair;
    document.getElementById("part-repair").hidden = document.getElementById("part-final").hidden = !isOpen;
    form.querySelector(".steps").hidden = Boolean(isOpen);
  }

  function toRepair(event) {
    draft.repair = true;
    reveal();
    save();
    if (event.currentTarget.id === "to-repair") {
      var first = document.getElementById("repairs");
      first.focus();
    }
  }

  function alone(target) {
    // A figure and the other answer exclude each other.
    if (target.name.endsWith("_other") && target.checked) { form.elements[target.name.slice(0, -6)].value = ""; }
    else if (form.elements[target.name + "_other"] && target.value) { form.elements[target.name + "_other"].checked = false; }
  }

  function asked(one) {
    var name = one.name;
    if (!device.keyed && /^(initial|final)_/.test(name) && !form.elements.tested_at.value) { form.elements.tested_at.value = local(new Date()).time; }
    if (form.elements.no_flow_how) {
      document.querySelector("[data-blank=no_flow_how]").hidden = form.elements.shutoff2_tight.value !== "no flow";
    }
    if (form.elements.old_serial) { document.querySelector("[data-blank=old_serial]").hidden = form.elements.installed.value !== "replacement"; }
    if (form.elements.improper) { document.querySelector("[data-blank=improper]").hidden = form.elements.proper.value !== "no"; }
  }

  // --- photos --------------------------------------------------------------
  async function listPhotos() {
    var list = document.getElementById("photo-list");
    var rows = await Promise.all((await store.photosOf(draft.id)).map(async function (photo, index) {
      var row = document.createElement("li"), image = new Image(), drop = document.createElement("button");
      image.src = await house.pictures.shown(photo.blob);
      image.alt = "Photo " + (index + 1);
      drop.type = "button";
      drop.textContent = "Remove photo " + (index + 1);
      drop.addEventListener("click", function () { store.drop("photos", photo.key).then(listPhotos); });
      row.append(image, drop);
      return row;
    }));
    list.replaceChildren.apply(list, rows);
  }

  async function takePhotos(event) {
    for (var file of event.target.files) {
      try {
        var small = await house.pictures.small(file);
        await store.put("photos", { key: draft.id + " " + small.sha256, record: draft.id, sha256: small.sha256, blob: small.blob, home: at.home, handed_in: false });
      } catch (error) { fault([["photo", "Photos", "“" + file.name + "” is no picture. Take it anew."]]); }
    }
    event.target.value = "";
    await listPhotos();
  }

  // --- handing in ------------------------------------------------------------
  function faults() {
    var found = [], told = fields();
    var words = function (name) {
      var label = form.querySelector("label[for='" + name + "']") || document.querySelector("[data-blank='" + name + "'] legend");
      return label ? label.firstChild.textContent.trim() : name;
    };
    if (!device.keyed && !told.cautions_read) { found.push(["cautions_read", "Cautions", "Read the cautions of this site, then tick it."]); }
    device.needed.forEach(function (one) {
      var isBeside = !one[3] || told[one[3]] === one[4];
      if (isBeside && !(told[one[0]] || "").trim() && (one[2] === "always" || !told.not_tested)) { found.push([one[0], words(one[0]), one[1]]); }
    });
    var bad = house.verdicts.show(form, device, saved).faults;
    Object.keys(bad).forEach(function (name) { found.push([name, words(name), bad[name]]); });
    if (device.keyed) { return found; }
    if (!told.signed_name.trim() && !pad.png()) { found.push(["signed_name", "Signature", "Type your full name, or draw it."]); }
    if (!told.attested) { found.push(["attested", "What you sign", "Read what you sign, then tick it; an unsigned report does not count."]); }
    return found;
  }

  function fault(found) {
    var box = document.getElementById("faults"), body = box.querySelector("div"), list = document.createElement("ul"), head = document.createElement("p"), strong = document.createElement("strong");
    strong.textContent = found.length === 1 ? "One thing needs mending." : found.length + " things need mending.";
    head.append(strong, " Nothing was handed in yet; all you wrote is kept.");
    found.forEach(function (one) {
      var row = document.createElement("li"), link = document.createElement("a");
      link.href = "#" + one[0];
      link.textContent = one[1];
      link.addEventListener("click", function (event) {
        var target = document.getElementById(one[0]);
        if (!target) { return; }
        event.preventDefault();
        var closed = target.closest("details");
        if (closed) { closed.open = true; }
        target.focus();
      });
      row.append(link, ": " + one[2]);
      list.append(row);
    });
    body.replaceChildren(head, list);
    box.hidden = false;
    document.querySelectorAll("form .error").forEach(function (one) { one.hidden = true; });
    found.forEach(function (one) {
      var line = document.getElementById(one[0] + "_error");
      if (line) { line.querySelector("span").textContent = one[2]; line.hidden = false; }
    });
    box.focus();
  }

  // A paper is keyed at the office's desk: it goes at once, and no outbox keeps it.
  async function goAtOnce() {
    try { await chain; await store.drop("drafts", place); } catch (error) { /* the form goes all the same */ }
    form.submit();
  }

  async function handIn(event) {
    event.preventDefault();
    if (isGoing) { return; }
    var found = faults();
    if (found.length) { fault(found); return; }
    isGoing = true;
    document.getElementById("hand-in").disabled = true;
    if (device.keyed) { await goAtOnce(); return; }
    try {
      await save();
      var photos = await store.photosOf(draft.id), now = new Date().toISOString(), png = pad.png();
      var body = {
        id: draft.id, form: draft.form, assembly: device.assembly, type: device.type, fields: fields(),
        attestation: device.attestation, cautions: device.cautions,
        signature: png ? { how: "drawn", png: png } : { how: "typed" },
        photos: photos.map(function (one) { return { sha256: one.sha256 }; }), opened_at: draft.opened_at, handed_in_at: now
      };
      var record = { id: draft.id, user: at.user, person: at.person, home: at.home, handed_in_at: now, body: body };
      await store.handIn(place, record, photos);
    } catch (error) {
      // No room or no store: the ordinary way is still open.
      isGoing = false;
      document.getElementById("hand-in").disabled = false;
      if (navigator.onLine !== false) { form.elements.client_id.value = draft.id; form.submit(); return; }
      fault([["hand-in", "This device", "It has no room left and there is no signal. Keep this page open until there is."]]);
      return;
    }
    await Promise.race([house.outbox.send({ now: true }), new Promise(function (done) { setTimeout(done, 6000); })]);
    location.assign(at.home);
  }

  // --- discarding ------------------------------------------------------------
  var gone = "discarded " + place, DAY = 24 * 3600 * 1000;

  // What is discarded is kept for a day, so that it can be taken up again.
  async function discard() {
    isOver = true;
    await chain;
    await store.put("notes", { name: gone, at: new Date().toISOString(), draft: JSON.parse(JSON.stringify(Object.assign({}, draft, { fields: fields(), signature: pad.png() }))) });
    await store.drop("drafts", place);
    location.reload();
  }

  async function undo() {
    var note = await store.get("notes", gone);
    isOver = true;
    await chain;
    if (note) { await store.put("drafts", note.draft); await store.drop("notes", gone); }
    location.reload();
  }

  async function offerUndo() {
    var note = await store.get("notes", gone);
    if (!note) { return; }
    if (Date.now() - Date.parse(note.at) > DAY) {
      for (var photo of await store.photosOf(note.draft.id)) { if (!photo.handed_in) { await store.drop("photos", photo.key); } }
      await store.drop("notes", gone);
      return;
    }
    document.getElementById("discarded").hidden = false;
    document.getElementById("discard-undo").addEventListener("click", undo);
  }

  function setUpDiscard() {
    var ask = document.getElementById("discard-ask"), sure = document.getElementById("discard-sure");
    document.getElementById("discard").hidden = false;
    ask.addEventListener("click", function () { sure.hidden = false; ask.hidden = true; document.getElementById("discard-no").focus(); });
    document.getElementById("discard-no").addEventListener("click", function () { sure.hidden = true; ask.hidden = false; ask.focus(); });
    document.getElementById("discard-yes").addEventListener("click", discard);
  }

  // --- start -----------------------------------------------------------------
  async function start() {
    var photoPart = document.getElementById("photos"), signPart = document.getElementById("drawn");
    if (device.keyed) { pad = { png: function () { return ""; }, show: function () {} }; }
    else {
      photoPart.hidden = signPart.hidden = false;
      pad = house.pictures.pad(document.getElementById("pad"), function () { save().then(show); });
    }
    draft = await store.get("drafts", place);
    if (draft) {
      restore(draft.fields);
      pad.show(draft.signature);
      saved = "Taken up where you left it.";
    } else {
      draft = { place: place, id: uuid(), user: at.user, form: device.form, opened_at: new Date().toISOString(), fields: {}, signature: "" };
      if (!device.today && !device.keyed) { form.elements.tested_on.value = local(new Date()).day; }
      store.persist();
    }
    form.elements.client_id.value = draft.id;
    asked({ name: "" });
    reveal();
    show();
    if (!device.keyed) { await listPhotos(); }
    form.addEventListener("input", function (event) {
      if (event.target.type === "file") { return; }
      alone(event.target);
      asked(event.target);
      // At once, so that nothing moves under a finger that goes on to the next field.
      if (house.verdicts.turns(form, device) !== shownTurns || event.target.type !== "text") { show(); }
      var before = saved;
      save().then(function () { if (saved !== before) { show(); } });
    });
    setUpDiscard();
    await offerUndo();
    // A tap that leaves a field is over before a line under it comes or goes.
    form.addEventListener("focusout", function () { setTimeout(show, 250); });
    form.addEventListener("submit", handIn);
    if (!device.keyed) {
      document.getElementById("photo").addEventListener("change", takePhotos);
      document.getElementById("pad-clear").addEventListener("click", function () { pad.clear(); });
    }
    document.getElementById("to-repair").addEventListener("click", toRepair);
    document.querySelectorAll(".parts a").forEach(function (link) {
      link.addEventListener("click", function (event) {
        if (link.hash !== "#part-initial") { toRepair(event); }
        document.querySelectorAll(".parts a").forEach(function (one) { one.removeAttribute("aria-current"); });
        link.setAttribute("aria-current", "true");
      });
    });
    form.addEventListener("focusin", function (event) {
      var part = event.target.closest("#part-initial, #part-repair, #part-final");
      document.querySelectorAll(".parts a").forEach(function (one) {
        if (part && one.hash === "#" + part.id) { one.setAttribute("aria-current", "true"); } else if (part) { one.removeAttribute("aria-current"); }
      });
    });
    document.documentElement.dataset.entering = "ready";
  }

  start();
}());
