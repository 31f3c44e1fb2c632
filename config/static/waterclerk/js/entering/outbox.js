// Sends what waits: one sender at a time over all open pages, records before their photos, and
// nothing is dropped before the receipt. After a failure it waits longer each time.
(function () {
  "use strict";
  var house = window.waterclerk = window.waterclerk || {};
  var store = house.store;
  var failures = 0, notBefore = 0;
  var LONGEST = 15 * 60 * 1000;
  var KEPT = 30 * 24 * 3600 * 1000;

  function place() { return document.getElementById("signal").dataset; }

  function token() {
    var match = /(?:^|; )csrftoken=([^;]+)/.exec(document.cookie);
    return match ? decodeURIComponent(match[1]) : "";
  }

  function posted(where, body, type) {
    var headers = { "X-CSRFToken": token(), "Content-Type": type, "X-Handed-In-By": place().user };
    return fetch(where, { method: "POST", body: body, headers: headers, credentials: "same-origin", redirect: "manual" })
      .then(function (answer) {
        // A redirect is the way to the log-in page; anything that is no JSON is not ours.
        var isJson = (answer.headers.get("Content-Type") || "").startsWith("application/json");
        if (answer.type === "opaqueredirect" || answer.status === 403) { throw { login: true }; }
        if (!isJson) { throw { again: true }; }
        return answer.json().then(function (told) { return { status: answer.status, told: told }; });
      });
  }

  function mine(record) { return String(record.user) === place().user && record.home === place().home; }

  function sendRecord(record) {
    return posted(place().send, JSON.stringify(record.body), "application/json").then(function (answer) {
      if (answer.status === 200 && answer.told.receipt) { return store.received(record.id, answer.told); }
      record.refusal = answer.told.message || "The office could not read it.";
      return store.put("records", record);
    });
  }

  function sendPhoto(photo) {
    var where = place().photos + "?record=" + encodeURIComponent(photo.record) + "&sha256=" + photo.sha256;
    return posted(where, photo.blob, "image/jpeg").then(function (answer) {
      if (answer.status === 200) { return store.drop("photos", photo.key); }
      if (answer.told.try_again) { throw { again: true }; }
      photo.refusal = answer.told.message;
      return store.put("photos", photo);
    });
  }

  async function sendAll() {
    var records = (await store.all("records")).filter(mine);
    records.sort(function (a, b) { return a.handed_in_at < b.handed_in_at ? -1 : 1; });
    for (var record of records) { await sendRecord(record); tell("sent"); }
    var waiting = new Set((await store.all("records")).map(function (one) { return one.id; }));
    var receipts = new Set((await store.all("receipts")).map(function (one) { return one.id; }));
    for (var photo of await store.all("photos")) {
      if (photo.refusal || photo.home !== place().home || waiting.has(photo.record) || !receipts.has(photo.record)) { continue; }
      await sendPhoto(photo);
      tell("sent");
    }
    await forget();
  }

  async function forget() {
    var old = new Date(Date.now() - KEPT).toISOString();
    for (var one of await store.all("receipts")) {
      if (one.kept_at < old && !(await store.photosOf(one.id)).length) { await store.drop("receipts", one.id); }
    }
  }

  function tell(what) { document.dispatchEvent(new CustomEvent("waterclerk:outbox", { detail: what })); }

  function send(options) {
    var forced = options && options.now;
    if (!forced && (Date.now() < notBefore || navigator.onLine === false)) { return Promise.resolve(); }
    if (!navigator.locks) { return Promise.resolve(); }
    return navigator.locks.request("waterclerk-outbox", { ifAvailable: true }, async function (lock) {
      if (!lock) { return; }
      try {
        await sendAll();
        failures = 0; notBefore = 0; house.outbox.trouble = "";
      } catch (error) {
        failures += 1;
        notBefore = Date.now() + Math.min(LONGEST, 2000 * 2 ** failures) * (0.75 + Math.random() / 2);
        house.outbox.trouble = error && error.login ? "Log in again, then they go." : "";
      }
      tell("done");
    });
  }

  async function waiting() {
    var records = await store.all("records");
    var photos = (await store.all("photos")).filter(function (one) { return one.handed_in; });
    return { records: records, photos: photos };
  }

  function base64(blob) {
    return new Promise(function (done, failed) {
      var reader = new FileReader();
      reader.onload = function () { done(String(reader.result).split(",")[1] || ""); };
      reader.onerror = function () { failed(reader.error); };
      reader.readAsDataURL(blob);
    });
  }

  // The way out: everything that waits, in one file, which the office page takes.
  async function asFile() {
    var left = await waiting();
    var photos = [];
    for (var one of left.photos) { photos.push({ record: one.record, sha256: one.sha256, data: await base64(one.blob) }); }
    // Photos whose record went before still name it: its body is kept with the receipt.
    var bodies = left.records.map(function (record) { return record.body; });
    var known = new Set(bodies.map(function (body) { return body.id; }));
    for (var photo of left.photos) {
      if (!known.has(photo.record) && photo.body) { known.add(photo.record); bodies.push(photo.body); }
    }
    return new Blob([JSON.stringify({ what: "waterclerk field tests", saved_at: new Date().toISOString(), records: bodies, photos: photos })],
      { type: "application/json" });
  }

  house.outbox = { send: send, waiting: waiting, asFile: asFile, token: token, trouble: "" };
  document.addEventListener("DOMContentLoaded", function () {
    send();
    window.addEventListener("online", function () { notBefore = 0; send(); });
    document.addEventListener("visibilitychange", function () { if (!document.hidden) { send(); } });
    setInterval(send, 60000);
  });
}());
