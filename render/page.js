// What the page remembers. Sizes are chosen, steps ticked and notes shown without it; it opens the page at the size that
// its address names, keeps the choice and the ticks for the next time, and lets Escape put a drafted value away.
(function () {
  var doc = document, root = doc.documentElement;
  var key = "knitting." + doc.getElementById("the.pattern").dataset.copy;
  var ticks = Array.prototype.slice.call(doc.querySelectorAll(".tally input"));
  var ways = ["only.mine", "large.type"].map(function (id) { return doc.getElementById(id); }).filter(Boolean);
  var clear = doc.querySelector(".choose button");

  function pick(id) {
    var size = id && doc.getElementById(id);
    if (size && size.name === "size") { size.checked = true; return true; }
    return false;
  }
  function named() {
    try { return decodeURIComponent(location.hash.slice(1)); } catch (e) { return ""; }
  }
  function chosen() {
    var size = doc.querySelector("input[name=size]:checked");
    return size ? size.id : "";
  }
  function bits(boxes) {
    return boxes.map(function (b) { return b.checked ? "1" : "0"; }).join("");
  }
  function set(boxes, s) {
    boxes.forEach(function (b, i) { b.checked = (s || "").charAt(i) === "1"; });
  }
  function save() {
    clear.hidden = bits(ticks).indexOf("1") < 0;
    try { localStorage.setItem(key, JSON.stringify({ size: chosen(), ticks: bits(ticks), ways: bits(ways) })); } catch (e) {}
  }
  function load() {
    try { return JSON.parse(localStorage.getItem(key)) || {}; } catch (e) { return {}; }
  }

  var was = load();
  set(ticks, was.ticks);
  set(ways, was.ways);
  if (!pick(named())) { pick(was.size); }
  save();

  doc.addEventListener("change", function (e) {
    if (e.target.name === "size") {
      try { history.replaceState(null, "", "#" + encodeURIComponent(e.target.id)); } catch (x) {}
    }
    save();
  });
  addEventListener("hashchange", function () { if (pick(named())) { save(); } });
  clear.addEventListener("click", function () { set(ticks, ""); save(); });
  doc.addEventListener("keydown", function (e) { if (e.key === "Escape") { root.classList.add("calm"); } });
  ["mouseover", "focusin"].forEach(function (on) {
    doc.addEventListener(on, function () { root.classList.remove("calm"); });
  });
})();
