// The words at the top: whether there is a signal, and what waits on this device. It also sets the
// keeper of pages to work; a new keeper takes over only where no form is open.
(function () {
  "use strict";
  var house = window.waterclerk;
  var at = document.getElementById("signal");

  function plural(n, one) { return n + " " + one + (n === 1 ? "" : "s"); }

  async function say() {
    var left = await house.outbox.waiting();
    var words = navigator.onLine === false ? "No signal." : "";
    var n = left.records.length, p = left.photos.length;
    var waits = n ? plural(n, "report") + (n === 1 ? " waits" : " wait") : p ? plural(p, "photo") + (p === 1 ? " waits" : " wait") : "";
    at.replaceChildren();
    if (words) { var strong = document.createElement("strong"); strong.textContent = words + " "; at.append(strong); }
    at.append(waits || (words ? "" : "Nothing waits"));
  }

  ["online", "offline"].forEach(function (what) { window.addEventListener(what, say); });
  document.addEventListener("waterclerk:outbox", say);
  say();

  if ("serviceWorker" in navigator) {
    navigator.serviceWorker.register(at.dataset.worker, { scope: at.dataset.home, updateViaCache: "none" }).then(function (found) {
      var hasForm = document.getElementById("entry") !== null;
      function offer(worker) { if (worker && !hasForm) { worker.postMessage("take over"); } }
      // Asked until it has happened: a word sent while the old keeper still answers can be lost.
      function ask() { if (found.waiting && !hasForm) { offer(found.waiting); setTimeout(ask, 2000); } }
      ask();
      found.addEventListener("updatefound", function () {
        var coming = found.installing;
        coming.addEventListener("statechange", function () { if (coming.state === "installed") { offer(coming); setTimeout(ask, 2000); } });
      });
      document.addEventListener("visibilitychange", function () { if (!document.hidden) { found.update().catch(function () {}); } });
      setInterval(function () { found.update().catch(function () {}); }, 3600000);
    }).catch(function () { /* without a keeper the pages need a signal; the outbox works all the same */ });
  }
}());
