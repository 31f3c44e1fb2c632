// Keeps the pages of entering for the time without signal. Pages and files come from the network when
// it answers, else from what was kept; records and photos are never its business.
"use strict";
var PAGES = "waterclerk-pages", FILES = "waterclerk-files-";
var PATIENCE = 4000;

self.addEventListener("install", function (event) {
  event.waitUntil(caches.open(FILES + self.BUILD).then(function (kept) {
    return Promise.all(self.ASSETS.map(function (one) {
      return fetch(one, { cache: "reload" }).then(function (answer) { return answer.ok ? kept.put(one, answer) : null; });
    }));
  }));
});

self.addEventListener("message", function (event) { if (event.data === "take over") { self.skipWaiting(); } });

// The files of the last three builds stay: a page kept earlier still finds its own.
self.addEventListener("activate", function (event) {
  event.waitUntil(caches.keys().then(function (names) {
    var old = names.filter(function (name) { return name.startsWith(FILES) && name !== FILES + self.BUILD; });
    return Promise.all(old.slice(0, -2).map(function (name) { return caches.delete(name); }));
  }).then(function () { return self.clients.claim(); }));
});

// The network's answer, or what was kept where the network is slow, silent or broken. With nothing
// kept there is no choice but to wait for the network.
async function answered(request, findKept) {
  var asked = fetch(request);
  var late = new Promise(function (done) { setTimeout(done, PATIENCE, null); });
  var answer = await Promise.race([asked.catch(function () { return null; }), late]);
  if (answer && answer.status < 500) { return answer; }
  return (await findKept()) || answer || asked;
}

function isForm(url) { return /\/enter\/(?:\d+\/|type\/[^/]+\/)?$/.test(url.pathname); }

async function page(request, url) {
  try {
    var answer = await answered(request, function () { return caches.match(url.pathname, { ignoreVary: true }); });
    if (answer.ok && answer.type === "basic" && !answer.redirected && isForm(url) && !url.search) {
      var copy = answer.clone();
      caches.open(PAGES).then(function (kept) { return kept.put(url.pathname, copy); }).catch(function () { /* no room: the page is shown all the same */ });
    }
    return answer;
  } catch (error) {
    var home = await caches.match(url.pathname.replace(/\/enter\/.*$/, "/enter/"), { ignoreVary: true });
    return home || new Response("No signal, and this page was not kept. Go back to what to test.", { status: 503, headers: { "Content-Type": "text/plain; charset=utf-8" } });
  }
}

function file(request) {
  return answered(request, function () { return caches.match(request, { ignoreVary: true }); });
}

self.addEventListener("fetch", function (event) {
  var url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) { return; }
  if (event.request.mode === "navigate") { event.respondWith(page(event.request, url)); }
  else if (self.ASSETS.indexOf(url.pathname) >= 0) { event.respondWith(file(event.request)); }
});
