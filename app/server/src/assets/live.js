// @ts-check
// Telling a round live. Every press is written down on this phone first and then sent; while the
// connection is away presses wait, and go out in their order when it is back. A press carries the
// page's random name and a number, so that sending it twice doubles nothing.

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
 * What this phone keeps of a round.
 * @typedef {object} Kept
 * @property {string} page
 * @property {number} next
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
const place = `grapevine live ${round}`;
const athletes = [...live.querySelectorAll("button[data-athlete]")].filter(
	(button) => button instanceof HTMLButtonElement,
);

/** @type {{ page: string, press: Press }[]} */
const before = JSON.parse(live.dataset.presses ?? "[]");

/** @returns {Kept} */
function recall() {
	const text = localStorage.getItem(place);
	if (text) {
		/** @type {Kept} */
		const found = JSON.parse(text);
		const isThere = (/** @type {Press} */ press) =>
			before.some((there) => there.page === found.page && there.press.number === press.number);
		return { ...found, queue: found.queue.filter((press) => !isThere(press)) };
	}
	const page = [...crypto.getRandomValues(new Uint8Array(12))]
		.map((byte) => byte.toString(16).padStart(2, "0"))
		.join("");
	return { page, next: 1, queue: [] };
}

const kept = recall();

/** Everything pressed, as far as this page knows. @type {Press[]} */
const pressed = [...before.map((there) => there.press), ...kept.queue];

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
	const count = kept.queue.length;
	const presses = count === 1 ? "1 press waits" : `${count} presses wait`;
	unsent.textContent = count > 0 && breaks > 0 ? `${presses} on this phone for the connection` : "";
}

function tick() {
	const at = moment();
	clockFace.textContent = time(at ?? 0);
	clockFace.classList.toggle("over", at !== undefined && at > planned);
}

function keep() {
	localStorage.setItem(place, JSON.stringify(kept));
}

/**
 * Writes a press down and sends it.
 * @param {Omit<Press, "number">} press
 */
function press(press) {
	const numbered = { ...press, number: kept.next };
	kept.next += 1;
	kept.queue.push(numbered);
	pressed.push(numbered);
	keep();
	navigator.vibrate?.(15);
	show();
	send();
}

async function send() {
	if (sending || kept.queue.length === 0) {
		return;
	}
	sending = true;
	const presses = kept.queue.slice(0, MOST_AT_ONCE);
	try {
		const body = JSON.stringify({ page: kept.page, presses });
		await ask("POST", `/rounds/${round}/live`, { body });
		kept.queue.splice(0, presses.length);
		breaks = 0;
		problem.hidden = true;
		keep();
		if (presses.some((sent) => sent.kind === "finish")) {
			localStorage.removeItem(place);
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
