// What this device keeps: makes it ready for no signal, shows what waits and how old it is, sends it,
// or saves it to a file.
(function () {
  "use strict";
  var house = window.waterclerk, store = house.store;
  if (!window.indexedDB || !navigator.locks || !window.caches) { return; }
  var at = document.getElementById("signal").dataset;
  var part = document.getElementById("device"), list = document.getElementById("waiting");
  var DAY = 24 * 3600 * 1000;

  function age(iso) {
    var minutes = Math.max(0, Math.floor((Date.now() - Date.parse(iso)) / 60000));
    return minutes < 1 ? "just now" : minutes < 90 ? minutes + " min ago" : Math.round(minutes / 60) < 36 ? Math.round(minutes / 60) + " h ago" : Math.round(minutes / 1440) + " days ago";
  }

  function plural(n, one) { return n + " " + one + (n === 1 ? "" : "s"); }

  function row(head, words, isLate, href) {
    var one = document.createElement("li"), strong = document.createElement(href ? "a" : "strong"), small = document.createElement("span");
    strong.textContent = head;
    if (href) { strong.href = href; }
    small.textContent = words;
    small.className = "small " + (isLate ? "past" : "second");
    one.append(strong, small);
    return one;
  }

  function receiptWords(one) {
    var end = one.needs_a_look ? "a person looks at it" : one.outcome === "pass" ? "passes" + (one.counts ? "" : ", does not count") : one.outcome === "fail" ? "fails" : "kept";
    if (one.decision) { end += ". The office: " + one.decision; }
    return "Received " + age(one.kept_at) + ", receipt " + one.receipt + ": " + end;
  }

  async function show() {
    var left = await house.outbox.waiting(), receipts = await store.all("receipts");
    var rows = left.records.map(function (record) {
      var isLate = Date.now() - Date.parse(record.handed_in_at) > DAY;
      var words = record.refusal ? record.refusal + " Save it to a file for the office." :
        String(record.user) !== at.user ? "Handed in by " + record.person + ": it goes when they are logged in." :
        "Handed in " + age(record.handed_in_at) + ", waits here";
      return row((record.body.fields.serial || "No serial") + ", " + record.body.type, words, isLate || record.refusal);
    });
    left.photos.forEach(function (photo) {
      rows.push(row("Photo of " + (photo.body.fields.serial || "no serial"), photo.refusal || "Waits here", Boolean(photo.refusal)));
    });
    receipts.sort(function (a, b) { return a.kept_at < b.kept_at ? 1 : -1; });
    receipts.slice(0, 12).forEach(function (one) { rows.push(row(one.receipt, receiptWords(one), false, one.page)); });
    list.replaceChildren.apply(list, rows);
    var n = left.records.length, p = left.photos.length;
    var oldest = left.records.map(function (one) { return one.handed_in_at; }).sort()[0];
    var words = n ? plural(n, "report") + (n === 1 ? " waits" : " wait") + " on this device, the oldest handed in " + age(oldest) + ". They go by themselves." :
      p ? plural(p, "photo") + (p === 1 ? " waits." : " wait.") : "Nothing waits on this device.";
    if (house.outbox.trouble) { words += " " + house.outbox.trouble; }
    var line = document.getElementById("waits");
    if (line.textContent !== words) { line.textContent = words; }
    line.classList.toggle("past", Boolean(oldest && Date.now() - Date.parse(oldest) > DAY));
    document.getElementById("send-now").hidden = document.getElementById("save-file").hidden = !(n || p);
    await showDrafts();
    document.getElementById("kept-line").textContent = await keptWords();
    await sayReady();
  }

  // What a person in the office decided since shows beside the receipt.
  async function askStanding() {
    var receipts = await store.all("receipts"), byId = {}, isNew = false;
    if (!receipts.length || navigator.onLine === false) { return; }
    receipts.forEach(function (one) { byId[one.id] = one; });
    var asked = new URLSearchParams(Object.keys(byId).slice(0, 60).map(function (id) { return ["id", id]; }));
    var answer = await fetch(at.standing + "?" + asked, { credentials: "same-origin", redirect: "error" });
    for (var now of (await answer.json()).records) {
      var kept = byId[now.id];
      if (["outcome", "counts", "needs_a_look", "decision"].some(function (name) { return (kept[name] || "") !== (now[name] || ""); })) {
        await store.put("receipts", Object.assign({}, kept, now));
        isNew = true;
      }
    }
    if (isNew) { await show(); }
  }

  async function showDrafts() {
    var drafts = (await store.all("drafts")).filter(function (one) { return one.user === at.user && Object.keys(one.fields).length; });
    drafts.sort(function (a, b) { return a.opened_at < b.opened_at ? 1 : -1; });
    document.getElementById("drafts").hidden = !drafts.length;
    var rows = drafts.map(function (one) {
      return row(one.fields.serial || "No serial yet", "Begun " + age(one.opened_at), false, one.place.slice(one.user.length + 1));
    });
    document.getElementById("draft-list").replaceChildren.apply(document.getElementById("draft-list"), rows);
  }

  async function keptWords() {
    var isApp = matchMedia("(display-mode: standalone)").matches;
    var isPromised = navigator.storage && navigator.storage.persisted ? await navigator.storage.persisted() : false;
    var words = isApp ? "This is the app on the home screen; it keeps its own store." : "This is the browser’s page; it keeps its own store.";
    words += isPromised ? " The browser has promised to keep it." : " The browser has not promised to keep it: send, or save to a file, the same day.";
    if (!isApp && /iPhone|iPad/.test(navigator.userAgent)) { words += " On the home screen (Share, then Add to Home Screen) it is kept longer."; }
    return words;
  }

  // A mark in the store and a cookie that the office sets once the mark is there: the cookie without
  // the mark says that the browser emptied its store.
  async function mark() {
    var today = new Date().toISOString().slice(0, 10);
    await store.put("notes", { name: "mark", day: today });
    await fetch(at.marked, { method: "POST", credentials: "same-origin", headers: { "X-CSRFToken": house.outbox.token() } }).catch(function () { /* the next visit marks it */ });
  }

  async function lookForEmptied() {
    var cookie = /(?:^|; )waterclerk_kept=([0-9-]+)/.exec(document.cookie), found = await store.get("notes", "mark");
    if (found || !cookie) {
      if (!cookie || cookie[1] !== new Date().toISOString().slice(0, 10)) { await mark(); }
      return;
    }
    document.getElementById("emptied-day").textContent = cookie[1];
    document.getElementById("emptied").hidden = false;
    document.getElementById("emptied-seen").addEventListener("click", async function () {
      document.getElementById("emptied").hidden = true;
      await mark();
    });
  }

  async function sayReady() {
    var note = await store.get("notes", "ready " + at.home);
    if (!note) { return; }
    var when = new Date(note.at);
    var time = String(when.getHours()).padStart(2, "0") + ":" + String(when.getMinutes()).padStart(2, "0");
    var words = "Ready, " + time + (note.day ? " for " + note.day : "") + ": " + plural(note.stops, "stop") + ", " + note.assemblies + (note.assemblies === 1 ? " assembly, " : " assemblies, ") + (note.bytes / 1e6).toFixed(1) + " MB.";
    document.getElementById("ready-line").textContent = words;
  }

  async function keep(cache, address) {
    var answer = await fetch(address, { credentials: "same-origin" });
    if (!answer.ok || answer.redirected) { throw new Error(address); }
    var size = (await answer.clone().blob()).size;
    await cache.put(address, answer);
    return size;
  }

  async function getReady() {
    var button = document.getElementById("get-ready"), bar = document.getElementById("ready-bar"), line = document.getElementById("ready-line");
    button.disabled = true;
    bar.hidden = false;
    try {
      if (navigator.serviceWorker) { await navigator.serviceWorker.ready; }
      var told = await (await fetch(at.ready, { credentials: "same-origin" })).json();
      var pages = await caches.open("waterclerk-pages"), files = await caches.open("waterclerk-kept"), bytes = 0, done = 0;
      bar.max = told.pages.length + told.assets.length;
      for (var one of told.assets) { bytes += await keep(files, one); bar.value = ++done; }
      for (var page of told.pages) { bytes += await keep(pages, page); bar.value = ++done; line.textContent = "Page " + (done - told.assets.length) + " of " + told.pages.length; }
      await store.put("notes", { name: "ready " + at.home, at: new Date().toISOString(), day: told.day, stops: told.stops, assemblies: told.assemblies, bytes: bytes });
      await store.persist();
      await sayReady();
    } catch (error) {
      line.textContent = "Not made ready: the signal broke off. Try again where it is better.";
    }
    bar.hidden = true;
    button.disabled = false;
  }

  async function saveFile() {
    var link = document.createElement("a");
    link.href = URL.createObjectURL(await house.outbox.asFile());
    link.download = "field-tests-" + new Date().toISOString().slice(0, 16).replace(/[:T]/g, "-") + ".json";
    link.click();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 60000);
  }

  part.hidden = false;
  document.getElementById("get-ready").addEventListener("click", getReady);
  document.getElementById("send-now").addEventListener("click", function () { house.outbox.send({ now: true }).then(show); });
  document.getElementById("save-file").addEventListener("click", saveFile);
  document.addEventListener("waterclerk:outbox", show);
  show().then(askStanding).catch(function () { /* asked again on the next visit */ });
  lookForEmptied();
}());
