// @ts-check
// Keys of the page, each of which can be switched off. They rest while somebody writes in a field.

import { written } from "./round_clock.js";

/** Under which name the keys that are switched off are remembered in this browser. */
const MEMORY = "grapevine round: keys switched off";

/**
 * @typedef {object} Key
 * @property {string} name as people read it
 * @property {string[]} keys as the browser calls them
 * @property {string} does
 * @property {(key: string) => void} act
 */

/** @returns {Set<string>} */
function remembered() {
	try {
		return new Set(JSON.parse(localStorage.getItem(MEMORY) ?? "[]"));
	} catch {
		return new Set();
	}
}

/** @param {Set<string>} off */
function remember(off) {
	try {
		localStorage.setItem(MEMORY, JSON.stringify([...off]));
	} catch {
		// A browser that keeps nothing forgets the choice with the page.
	}
}

/** @param {string} selector */
function press(selector) {
	const found = document.querySelector(selector);
	if (found instanceof HTMLElement) {
		found.click();
	}
}

/**
 * Opens a form with the moment filled in.
 * @param {string} details
 * @param {string} time
 * @param {string} next
 * @param {number} millis
 */
function openForm(details, time, next, millis) {
	document.getElementById(details)?.setAttribute("open", "");
	const field = document.getElementById(time);
	if (field instanceof HTMLInputElement) {
		field.value = written(millis);
	}
	document.getElementById(next)?.focus();
}

/**
 * Puts the moment into a field for times.
 * @param {string} id
 * @param {number} millis
 */
function fill(id, millis) {
	const field = document.getElementById(id);
	if (field instanceof HTMLInputElement) {
		field.value = written(millis);
	}
}

/** @param {EventTarget | null} target */
function writing(target) {
	const field = "input:not([type=checkbox], [type=radio], [type=file]), textarea, select";
	return target instanceof Element && target.closest(`${field}, [contenteditable]`) !== null;
}

/**
 * Whether what has the focus takes this key for itself.
 * @param {EventTarget | null} target
 * @param {string} key
 */
function taken(target, key) {
	const players = "video, audio, [role=slider]";
	const controls = /** @type {Record<string, string>} */ ({
		" ": `button, summary, input, ${players}`,
		ArrowLeft: `input[type=radio], ${players}`,
		ArrowRight: `input[type=radio], ${players}`,
	});
	const control = controls[key];
	return control !== undefined && target instanceof Element && target.closest(control) !== null;
}

/**
 * @param {HTMLElement} _page
 * @param {import("./round_clock.js").Clock} clock
 */
export function startKeys(_page, clock) {
	const dialog = /** @type {HTMLDialogElement | null} */ (document.getElementById("keys"));
	const list = document.getElementById("key-list");
	if (!dialog || !list) {
		return;
	}
	const open = () => dialog.showModal();
	/** @type {Key[]} */
	const keys = [
		{
			name: "1 to 5",
			keys: ["1", "2", "3", "4", "5"],
			does: "choose an answer",
			act: (key) => press(`.question [data-choice="${key}"]`),
		},
		{ name: "n", keys: ["n"], does: "nothing changed here", act: () => press("#nothing") },
		{
			name: "o",
			keys: ["o"],
			does: "choose another position",
			act: () => openForm("something-else", "", "other", 0),
		},
		{ name: "p", keys: ["p"], does: "pass the question over", act: () => press("#pass-over") },
		{ name: "b", keys: ["b"], does: "it began now", act: () => fill("began", clock.now()) },
		{ name: "f", keys: ["f"], does: "it finished now", act: () => fill("ended", clock.now()) },
		{ name: "space", keys: [" "], does: "play or pause", act: () => clock.toggle() },
		{
			name: "← and →",
			keys: ["ArrowLeft", "ArrowRight"],
			does: "two seconds back or on",
			act: (key) => clock.seek(clock.now() + (key === "ArrowLeft" ? -2000 : 2000)),
		},
		{
			name: ", and .",
			keys: [",", "."],
			does: "half a second back or on",
			act: (key) => clock.seek(clock.now() + (key === "," ? -500 : 500)),
		},
		{ name: "l", keys: ["l"], does: "repeat the moment asked about", act: () => press("#loop") },
		{ name: "u", keys: ["u"], does: "undo", act: () => press("#undo") },
		{ name: "r", keys: ["r"], does: "do again", act: () => press("#redo") },
		{
			name: "e",
			keys: ["e"],
			does: "add an event here",
			act: () => openForm("add-event", "event-at", "event-who", clock.now()),
		},
		{
			name: "w",
			keys: ["w"],
			does: "write a note about this moment",
			act: () => openForm("add-remark", "remark-at", "remark-words", clock.now()),
		},
		{
			name: "t",
			keys: ["t"],
			does: "tell the position from here on",
			act: () => openForm("add-spell", "from", "state", clock.now()),
		},
		{ name: "c", keys: ["c"], does: "confirm the round", act: () => press("[data-confirm]") },
		{ name: "?", keys: ["?"], does: "show these keys", act: open },
	];

	const off = remembered();
	const showOff = () => document.documentElement.classList.toggle("no-keys", off.has("1 to 5"));
	for (const key of keys) {
		const [line, label, box] = ["li", "label", "input"].map((n) => document.createElement(n));
		if (line && label && box instanceof HTMLInputElement) {
			label.className = "choice";
			box.type = "checkbox";
			box.checked = !off.has(key.name);
			box.addEventListener("change", () => {
				if (box.checked) {
					off.delete(key.name);
				} else {
					off.add(key.name);
				}
				remember(off);
				showOff();
			});
			const name = document.createElement("kbd");
			name.textContent = key.name;
			label.append(box, name, ` ${key.does}`);
			line.append(label);
			list.append(line);
		}
	}
	showOff();
	document.getElementById("show-keys")?.addEventListener("click", open);

	document.addEventListener("keydown", (event) => {
		const held = event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented;
		if (held || dialog.open || writing(event.target)) {
			return;
		}
		const key = keys.find((key) => key.keys.includes(event.key));
		if (event.repeat && !event.key.startsWith("Arrow")) {
			return;
		}
		if (!key || off.has(key.name) || taken(event.target, event.key)) {
			return;
		}
		event.preventDefault();
		key.act(event.key);
	});
}
