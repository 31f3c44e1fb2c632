// The store on the device: drafts, the outbox, photos and receipts, in IndexedDB. A record leaves the
// outbox only when the server's receipt is written.
(function () {
  "use strict";
  var house = window.waterclerk = window.waterclerk || {};
  var NAME = "waterclerk-entering";
  var opened = null;

  function open() {
    if (opened) { return opened; }
    opened = new Promise(function (done, failed) {
      var asked = indexedDB.open(NAME, 1);
      asked.onupgradeneeded = function () {
        var base = asked.result;
        base.createObjectStore("drafts", { keyPath: "place" });
        base.createObjectStore("records", { keyPath: "id" });
        base.createObjectStore("photos", { keyPath: "key" }).createIndex("record", "record");
        base.createObjectStore("receipts", { keyPath: "id" });
        base.createObjectStore("notes", { keyPath: "name" });
      };
      asked.onsuccess = function () { done(asked.result); };
      asked.onerror = function () { opened = null; failed(asked.error); };
    });
    return opened;
  }

  function within(names, mode, act) {
    return open().then(function (base) {
      return new Promise(function (done, failed) {
        // Strict: "kept" is said only when it is on the disk, for a phone may go dark at once.
        var work = base.transaction(names, mode, { durability: "strict" });
        var answer = act(work);
        work.oncomplete = function () { done(answer && "result" in answer ? answer.result : undefined); };
        work.onerror = work.onabort = function () { failed(work.error); };
      });
    });
  }

  function get(name, key) { return within([name], "readonly", function (w) { return w.objectStore(name).get(key); }); }
  function all(name) { return within([name], "readonly", function (w) { return w.objectStore(name).getAll(); }); }
  function put(name, value) { return within([name], "readwrite", function (w) { w.objectStore(name).put(value); }); }
  function drop(name, key) { return within([name], "readwrite", function (w) { w.objectStore(name).delete(key); }); }
  function photosOf(id) {
    return within(["photos"], "readonly", function (w) { return w.objectStore("photos").index("record").getAll(id); });
  }

  // The draft becomes a frozen record in one transaction: never both, never neither. A record that
  // is frozen already is not written over.
  function handIn(place, record, photos) {
    return within(["drafts", "records", "photos"], "readwrite", function (w) {
      w.objectStore("records").add(record);
      photos.forEach(function (one) { w.objectStore("photos").put(Object.assign({}, one, { handed_in: true, body: record.body })); });
      w.objectStore("drafts").delete(place);
    });
  }

  // The receipt is written and the record leaves in one transaction.
  function received(id, receipt) {
    return within(["records", "receipts"], "readwrite", function (w) {
      w.objectStore("receipts").put(Object.assign({ id: id, kept_at: new Date().toISOString() }, receipt));
      w.objectStore("records").delete(id);
    });
  }

  function persist() {
    if (navigator.storage && navigator.storage.persist) { return navigator.storage.persist().catch(function () { return false; }); }
    return Promise.resolve(false);
  }

  house.store = { get: get, all: all, put: put, drop: drop, photosOf: photosOf, handIn: handIn, received: received, persist: persist };
}());
