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

function fromNetwork(request) {
  return new Promise(function (done, failed) {
    var late = setTimeout(function () { failed(new Error("no answer")); }, PATIENCE);
    fetch(request).then(function (answer) { clearTimeout(late); done(answer); }, function (error) { clearTimeout(late); failed(error); });
  });
}

function isForm(url) { return /\/enter\/(?:\d+\/|type\/[^/]+\/)?$/.test(url.pathname); }

async function page(request, url) {
  try {
    var answer = await fromNetwork(request);
    if (answer.ok && answer.type === "basic" && !answer.redirected && isForm(url) && !url.search) {
      var copy = answer.clone();
      (await caches.open(PAGES)).put(url.pathname, copy);
    }
    return answer;
  } catch (error) {
    var kept = await caches.match(url.pathname, { ignoreVary: true });
    if (kept) { return kept; }
    var home = await caches.match(url.pathname.replace(/\/enter\/.*$/, "/enter/"), { ignoreVary: true });
    return home || new Response("No signal, and this page was not kept. Go back to what to test.", { status: 503, headers: { "Content-Type": "text/plain; charset=utf-8" } });
  }
}

async function file(request) {
  try {
    return await fromNetwork(request);
  } catch (error) {
    var kept = await caches.match(request, { ignoreVary: true });
    return kept || Response.error();
  }
}

self.addEventListener("fetch", function (event) {
  var url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) { return; }
  if (event.request.mode === "navigate") { event.respondWith(page(event.request, url)); }
  else if (self.ASSETS.indexOf(url.pathname) >= 0) { event.respondWith(file(event.request)); }
});
