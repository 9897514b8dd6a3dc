// What this browser remembers of a form: nothing breaks where it may not remember.

/** What was kept under a name; {} where there is nothing, or nothing may be read. */
export function recall(name) {
  try {
    return JSON.parse(localStorage.getItem(`neckform ${name}`)) ?? {};
  } catch {
    return {};
  }
}

export function remember(name, value) {
  try {
    localStorage.setItem(`neckform ${name}`, JSON.stringify(value));
  } catch {
    // a browser that keeps nothing asks again next time
  }
}
