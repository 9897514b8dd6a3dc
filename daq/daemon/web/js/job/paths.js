// What is asked of a plan, field by field: the paths that a change is made of. Pure.

const ACTION = /^action\.(first|last)_mm$/;
const SCREW = /^(saddle|nut)\.(\d+)$/;
const HELD = /^hold\.(fret|string)\.(\d+)$/;
const PLACE = /^hold\.place\.(\d+)\.(\d+)$/;
const SCREWS = { saddle: "saddles", nut: "nut" };
const PLAYER = ["name", "pluck_force_n", "pluck_from_saddle_mm", "bend_semitones",
  "least_fret_mm", "guard"];

/** What a path has in `asked`; null where nothing is set there. */
export function valueAt(asked, path) {
  const { playing } = asked;
  if (path === "player") return playing.name;
  if (path in playing) return playing[path];
  if (ACTION.test(path)) return actionAt(playing.highest_action_mm, path);
  const screw = SCREW.exec(path);
  if (screw) return setByHand(asked[SCREWS[screw[1]]], screw[2]);
  if (path.startsWith("hold.")) return heldAt(asked.hold ?? {}, path);
  if (path.startsWith("shape")) return shapeAt(asked.shape ?? null, path);
  return asked[path] ?? null;
}

function actionAt(heights, path) {
  const strings = Object.keys(heights).map(Number).sort((a, b) => a - b);
  const string = path === "action.first_mm" ? strings[0] : strings[strings.length - 1];
  return heights[string];
}

function setByHand(screws, string) {
  return typeof screws === "object" && screws !== null ? screws[string] ?? null : null;
}

function heldAt(hold, path) {
  const one = HELD.exec(path);
  if (one) return (hold[`${one[1]}s`] ?? []).includes(Number(one[2]));
  const place = PLACE.exec(path);
  if (!place) return false;
  return (hold.places ?? []).some(([f, s]) => f === Number(place[1]) && s === Number(place[2]));
}

function shapeAt(shape, path) {
  if (path === "shape" || shape === null) return shape;
  const um = (mm) => Math.round(1000 * mm * 10) / 10;
  return {
    "shape.from": shape.frets[0],
    "shape.to": shape.frets[1],
    "shape.from_off_um": um(shape.off_mm[0]),
    "shape.to_off_um": um(shape.off_mm[1]),
    "shape.hollow_um": um(shape.hollow_mm ?? 0),
  }[path] ?? null;
}

/** Whether a later move of `over` leaves nothing of an earlier one of `path`. */
export function overrides(over, path) {
  if (over === path) return true;
  if (over === "player") return PLAYER.includes(path) || ACTION.test(path);
  if (over === "shape") return path.startsWith("shape.");
  const screw = SCREW.exec(path);
  return screw !== null && over === SCREWS[screw[1]];
}

/** A change and a later one as one change, in the order in which they were made. */
export function merged(earlier, later) {
  const kept = Object.entries(earlier).filter(
    ([path]) => !Object.keys(later).some((over) => overrides(over, path)));
  return { ...Object.fromEntries(kept), ...later };
}

/** Which of the paths stand for something else in one `asked` than in another. */
export function moved(before, after, paths) {
  const plain = (asked, path) => JSON.stringify(valueAt(asked, path));
  return paths.filter((path) => plain(before, path) !== plain(after, path));
}
