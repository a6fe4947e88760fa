// @ts-check
// Telling a round live. Every press is written down on this phone first and then sent; while the
// connection is away presses wait, and go out in their order when it is back. A press carries a
// number and a random name that is new whenever the page is loaded, so that sending it twice doubles
// nothing, and two tabs of one round do not take each other's presses for their own. What an earlier
// load could not send is sent by the next one, under the name that it was pressed with.

import { ask, mayPass } from "./upload.js";

/** Presses in one request, which is bounded. */
const MOST_AT_ONCE = 200;

/**
 * A press as it is sent.
 * @typedef {object} Press
 * @property {number} number
 * @property {number} at milliseconds by the round's clock
 * @property {"start" | "position" | "event" | "undo" | "finish"} kind
 * @property {string | null} [id] a position's or an event's
 * @property {number | null} [athlete] 0 or 1: who is on top, or did it
 * @property {number | null} [clock] of a start: milliseconds since 1970
 */

/**
 * What this phone keeps of one load of the page, until all of it is sent.
 * @typedef {object} Kept
 * @property {string} page
 * @property {number} since milliseconds since 1970
 * @property {Press[]} queue
 */

/**
 * An element that the page has.
 * @template {HTMLElement} T
 * @param {string} id
 * @param {new () => T} kind
 */
function element(id, kind) {
	const found = document.getElementById(id);
	if (!(found instanceof kind)) {
		throw new Error(`the page has no ${id}`);
	}
	return found;
}

const live = element("live", HTMLElement);
const clockFace = element("clock", HTMLElement);
const now = element("now", HTMLElement);
const unsent = element("unsent", HTMLElement);
const last = element("last", HTMLElement);
const problem = element("live-problem", HTMLElement);
const start = element("start", HTMLButtonElement);
const board = element("board", HTMLElement);
const undo = element("undo", HTMLButtonElement);
const ending = element("ending", HTMLDialogElement);
const endingLength = element("ending-length", HTMLInputElement);
const endingProblem = element("ending-problem", HTMLElement);
const endingPlanned = element("ending-planned", HTMLButtonElement);

const round = live.dataset.round ?? "";
const planned = Number(live.dataset.planned);
const names = (live.dataset.names ?? "").split("\n");
const place = `grapevine live ${round} `;
const athletes = [...live.querySelectorAll("button[data-athlete]")].filter(
	(button) => button instanceof HTMLButtonElement,
);

/** @type {{ page: string, press: Press }[]} */
const before = JSON.parse(live.dataset.presses ?? "[]");

/**
 * What a load of the page has kept.
 * @param {string} page
 * @returns {Kept | undefined}
 */
function recall(page) {
	const text = localStorage.getItem(place + page);
	return text ? JSON.parse(text) : undefined;
}

/** @param {Kept} kept */
function keep(kept) {
	if (kept.queue.length > 0) {
		localStorage.setItem(place + kept.page, JSON.stringify(kept));
	} else {
		localStorage.removeItem(place + kept.page);
	}
}

/** What earlier loads, or other tabs, have not sent yet; the earliest first. */
function leftovers() {
	/** @type {Kept[]} */
	const found = [];
	for (const key of Object.keys(localStorage)) {
		const kept = key.startsWith(place) ? recall(key.slice(place.length)) : undefined;
		if (kept) {
			const isThere = (/** @type {Press} */ press) =>
				before.some((there) => there.page === kept.page && there.press.number === press.number);
			found.push({ ...kept, queue: kept.queue.filter((press) => !isThere(press)) });
		}
	}
	return found.sort((one, other) => one.since - other.since);
}

/** @type {Kept} */
const own = {
	page: [...crypto.getRandomValues(new Uint8Array(12))]
		.map((byte) => byte.toString(16).padStart(2, "0"))
		.join(""),
	since: Date.now(),
	queue: [],
};
let next = 1;

/** All that is to be sent, in this order. */
const waiting = [...leftovers(), own];

/** Everything pressed, as far as this page knows. @type {Press[]} */
const pressed = [...before.map((there) => there.press), ...waiting.flatMap((kept) => kept.queue)];

let who = 0;
let sending = false;
let breaks = 0;

/** @param {number} millis */
function time(millis) {
	const seconds = Math.floor(millis / 1000);
	return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

/** The moment by the round's clock; none before it starts. */
function moment() {
	const begun = pressed.find((press) => press.kind === "start");
	return begun?.clock ? Math.max(0, Date.now() - begun.clock) : undefined;
}

/**
 * The latest press of a kind.
 * @param {Press[]} presses
 * @param {(press: Press) => boolean} is
 */
function latest(presses, is) {
	return [...presses].reverse().find(is);
}

/** The presses that count: without those taken back. */
function counted() {
	/** @type {Press[]} */
	const counting = [];
	for (const press of pressed) {
		if (press.kind === "undo") {
			const mistake = latest(counting, (other) => other.kind !== "start");
			if (mistake) {
				counting.splice(counting.lastIndexOf(mistake), 1);
			}
		} else {
			counting.push(press);
		}
	}
	return counting;
}

/** @param {Press} press */
function words(press) {
	const button = live.querySelector(`[data-${press.kind}="${press.id}"]`);
	const what = button?.textContent ?? "";
	if (press.kind === "start") {
		return "both standing";
	}
	const name = names[press.athlete ?? -1];
	if (!name) {
		return what;
	}
	return press.kind === "position" ? `${what}, ${name} on top` : `${what}, ${name}`;
}

function show() {
	const counting = counted();
	const begun = counting.some((press) => press.kind === "start");
	const finished = counting.some((press) => press.kind === "finish");
	start.hidden = begun;
	board.hidden = !begun || finished;
	const position = latest(counting, (press) => press.kind === "start" || press.kind === "position");
	if (finished) {
		now.textContent = "Finished.";
	} else if (position) {
		now.textContent = words(position);
	}
	for (const button of live.querySelectorAll("button[data-position]")) {
		const id = position?.kind === "position" ? position.id : "standing";
		const is = button instanceof HTMLButtonElement && button.dataset.position === id;
		button.setAttribute("aria-pressed", String(is));
		button.classList.toggle("first", is && position?.athlete === 0);
		button.classList.toggle("second", is && position?.athlete === 1);
	}
	for (const button of athletes) {
		button.setAttribute("aria-pressed", String(Number(button.dataset.athlete) === who));
	}
	board.dataset.who = String(who);
	const newest = latest(counting, (press) => press.kind !== "start");
	undo.disabled = !newest;
	last.textContent = newest ? `${time(newest.at)} ${words(newest)}` : "";
	const count = waiting.reduce((sum, kept) => sum + kept.queue.length, 0);
	const presses = count === 1 ? "1 press waits" : `${count} presses wait`;
	unsent.textContent = count > 0 && breaks > 0 ? `${presses} on this phone for the connection` : "";
}

function tick() {
	const at = moment();
	clockFace.textContent = time(at ?? 0);
	clockFace.classList.toggle("over", at !== undefined && at > planned);
}

/**
 * Writes a press down and sends it.
 * @param {Omit<Press, "number">} press
 */
function press(press) {
	const numbered = { ...press, number: next };
	next += 1;
	own.queue.push(numbered);
	pressed.push(numbered);
	keep(own);
	navigator.vibrate?.(15);
	show();
	send();
}

/**
 * Forgets presses that the server has. Another tab may have written down more of its own since.
 * @param {Kept} kept
 * @param {Press[]} presses
 */
function forget(kept, presses) {
	const last = presses[presses.length - 1]?.number ?? 0;
	kept.queue.splice(0, presses.length);
	const there = kept === own ? own : recall(kept.page);
	if (there) {
		keep({ ...there, queue: there.queue.filter((press) => press.number > last) });
	}
}

async function send() {
	const kept = waiting.find((kept) => kept.queue.length > 0);
	if (sending || !kept) {
		return;
	}
	sending = true;
	const presses = kept.queue.slice(0, MOST_AT_ONCE);
	try {
		const body = JSON.stringify({ page: kept.page, presses });
		await ask("POST", `/rounds/${round}/live`, { body });
		forget(kept, presses);
		breaks = 0;
		problem.hidden = true;
		if (presses.some((sent) => sent.kind === "finish")) {
			// A finished round takes no presses any more.
			for (const left of Object.keys(localStorage).filter((key) => key.startsWith(place))) {
				localStorage.removeItem(left);
			}
			location.assign(`/rounds/${round}`);
			return;
		}
		sending = false;
		send();
	} catch (error) {
		sending = false;
		breaks += 1;
		if (mayPass(error)) {
			setTimeout(send, 1000 * Math.min(2 ** breaks, 15));
		} else {
			problem.textContent = `${error instanceof Error ? error.message : error} What you pressed is kept on this phone.`;
			problem.hidden = false;
			setTimeout(send, 30_000);
		}
	}
	show();
}

addEventListener("online", send);

start.addEventListener("click", () => {
	press({ kind: "start", at: 0, clock: Date.now() });
	stayAwake();
});

board.addEventListener("click", (event) => {
	const button = event.target instanceof Element ? event.target.closest("button") : null;
	const at = moment();
	if (!button || at === undefined) {
		return;
	}
	const { athlete, position, event: moves, top } = button.dataset;
	if (athlete !== undefined) {
		who = Number(athlete);
		show();
	} else if (position) {
		press({ kind: "position", at, id: position, athlete: top === undefined ? null : who });
	} else if (moves) {
		press({ kind: "event", at, id: moves, athlete: who });
	}
});

undo.addEventListener("click", () => press({ kind: "undo", at: moment() ?? 0 }));

element("finish", HTMLButtonElement).addEventListener("click", () => {
	const at = moment() ?? 0;
	endingLength.value = time(at);
	endingProblem.hidden = true;
	endingPlanned.hidden = at <= planned;
	ending.showModal();
});

element("ending-back", HTMLButtonElement).addEventListener("click", () => ending.close());

endingPlanned.addEventListener("click", () => {
	endingLength.value = time(planned);
});

element("ending-form", HTMLFormElement).addEventListener("submit", (event) => {
	event.stopPropagation();
	const found = /^(\d{1,3}):([0-5]\d)$/.exec(endingLength.value.trim());
	const at = found ? (Number(found[1]) * 60 + Number(found[2])) * 1000 : 0;
	if (at < 1000) {
		event.preventDefault();
		endingProblem.hidden = false;
		return;
	}
	press({ kind: "finish", at });
});

/** Keeps the screen on where the browser can. */
async function stayAwake() {
	try {
		await navigator.wakeLock?.request("screen");
	} catch {
		// A phone that saves power may refuse; nothing depends on it.
	}
}

document.addEventListener("visibilitychange", () => {
	if (document.visibilityState === "visible") {
		tick();
		send();
		if (moment() !== undefined) {
			stayAwake();
		}
	}
});

// A page from the browser's memory knows nothing of what was pressed since.
addEventListener("pageshow", (event) => {
	if (event.persisted) {
		location.reload();
	}
});

live.hidden = false;
const position = latest(counted(), (press) => press.kind === "position" && press.athlete !== null);
who = position?.athlete ?? 0;
tick();
setInterval(tick, 200);
show();
send();
