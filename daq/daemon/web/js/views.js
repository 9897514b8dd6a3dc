// Which view is shown, by the address: #rig, #jobs, #job/NAME.

const views = new Map();  // route -> {show(param), hide()}
const FIRST = "rig";
let shown = null;

/** The route and what stands behind it of an address's hash: "#job/a%20b" is job and "a b". */
export function routeOf(hash) {
  const [name, ...rest] = hash.replace(/^#/, "").split("/");
  const param = decode(rest.join("/"));
  return { name: name || FIRST, param };
}

function decode(text) {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;  // typed by hand, with a % of its own
  }
}

/** The address of a view. */
export function hashOf(name, param = "") {
  return param === "" ? `#${name}` : `#${name}/${encodeURIComponent(param)}`;
}

/** A view by its route. show(param) is called again where only what stands behind it changes. */
export function addView(name, view) {
  views.set(name, view);
  if (routeOf(location.hash).name === name) follow();
}

/** Goes to a view. */
export function go(name, param = "") {
  location.hash = hashOf(name, param);
}

function follow() {
  const asked = routeOf(location.hash);
  const { name, param } = views.has(asked.name) ? asked : { name: FIRST, param: "" };
  const view = views.get(name);
  if (view === undefined) return;
  if (shown !== null && shown !== view) shown.hide();
  shown = view;
  view.show(param);
  for (const link of document.querySelectorAll("nav a[href^='#']")) {
    const there = link.dataset.views.split(" ").includes(name);
    if (there) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
}

/** Follows the address from now on. */
export function followAddress() {
  addEventListener("hashchange", follow);
  follow();
}
