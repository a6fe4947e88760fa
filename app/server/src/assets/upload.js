// @ts-check
// Sends a recording in pieces. A connection that breaks is waited for; a page that was closed goes
// on when the same file is chosen again, since the browser remembers under which id it was sent.

/** Bytes of a piece. */
const PIECE = 4 * 1024 * 1024;

/** Seconds to wait after a break, the longer the more breaks there were in a row. */
const WAITS = [1, 2, 4, 8, 15];

const REMEMBERED = "grapevine upload ";

/**
 * How far a recording has come.
 * @typedef {object} Progress
 * @property {number} received bytes that are on the disk
 * @property {number} bytes all bytes
 * @property {number | undefined} secondsLeft at the pace so far
 * @property {boolean} waiting whether the connection is away
 */

/** A refusal that waiting does not change. */
export class Refused extends Error {
	/**
	 * @param {string} message
	 * @param {number} status
	 * @param {number | undefined} received bytes that are there, where a piece did not fit
	 */
	constructor(message, status, received) {
		super(message);
		this.status = status;
		this.received = received;
	}
}

/**
 * Asks the server and reads its JSON answer. Throws {@link Refused} for a refusal, and whatever
 * `fetch` throws while the connection is away.
 * @param {string} method
 * @param {string} address
 * @param {{ body?: Blob | string, signal?: AbortSignal }} [options]
 * @returns {Promise<any>}
 */
export async function ask(method, address, options = {}) {
	/** @type {Record<string, string>} */
	const headers = { accept: "application/json" };
	if (typeof options.body === "string") {
		headers["content-type"] = "application/json";
	}
	const response = await fetch(address, { method, headers, ...options });
	const kind = response.headers.get("content-type") ?? "";
	const answer = kind.startsWith("application/json") ? await response.json() : undefined;
	if (!response.ok) {
		const words = answer?.error ?? `The program answered ${response.status}.`;
		throw new Refused(words, response.status, answer?.received);
	}
	return answer;
}

/**
 * Whether trying again later may help.
 * @param {unknown} error
 */
export function mayPass(error) {
	return !(error instanceof Refused) || error.status === 503 || error.status === 429;
}

/** @param {File} file */
function remembered(file) {
	return `${REMEMBERED}${file.name} ${file.size} ${file.lastModified}`;
}

/** Names of the files that were on their way when a page was closed. */
export function unfinished() {
	return Object.keys(localStorage)
		.filter((key) => key.startsWith(REMEMBERED))
		.map((key) => key.slice(REMEMBERED.length).split(" ").slice(0, -2).join(" "));
}

/**
 * How much of a file is there already; begins a new upload where nothing is known of it.
 * @param {File} file
 * @param {AbortSignal} signal
 */
async function begin(file, signal) {
	const known = localStorage.getItem(remembered(file));
	if (known) {
		try {
			const there = await ask("GET", `/uploads/${known}`, { signal });
			return { id: known, received: Number(there.received) };
		} catch (error) {
			if (!(error instanceof Refused) || error.status !== 404) {
				throw error;
			}
		}
	}
	const body = JSON.stringify({ name: file.name, bytes: file.size });
	const begun = await ask("POST", "/uploads", { body, signal });
	localStorage.setItem(remembered(file), begun.id);
	return { id: String(begun.id), received: 0 };
}

/**
 * Waits, or until the connection is back.
 * @param {number} seconds
 * @param {AbortSignal} signal
 * @returns {Promise<void>}
 */
function pause(seconds, signal) {
	return new Promise((resolve, reject) => {
		const go = () => {
			clearTimeout(timer);
			removeEventListener("online", go);
			signal.removeEventListener("abort", stop);
			resolve();
		};
		const stop = () => {
			clearTimeout(timer);
			removeEventListener("online", go);
			reject(signal.reason);
		};
		const timer = setTimeout(go, seconds * 1000);
		addEventListener("online", go);
		signal.addEventListener("abort", stop);
	});
}

/**
 * Sends a recording; gives its hash once all of it is in the book.
 * @param {File} file
 * @param {AbortSignal} signal cancels it and gives the upload up
 * @param {(progress: Progress) => void} tell
 * @returns {Promise<string>}
 */
export async function sendRecording(file, signal, tell) {
	let id = "";
	let received = 0;
	let breaks = 0;
	/** @type {{ at: number, received: number } | undefined} */
	let since;
	const told = (/** @type {boolean} */ waiting) => {
		const seconds = since ? (performance.now() - since.at) / 1000 : 0;
		const pace = since && seconds > 1 ? (received - since.received) / seconds : 0;
		const secondsLeft = pace > 0 ? (file.size - received) / pace : undefined;
		tell({ received, bytes: file.size, secondsLeft, waiting });
	};
	for (;;) {
		try {
			if (!id) {
				({ id, received } = await begin(file, signal));
			}
			since ??= { at: performance.now(), received };
			while (received < file.size) {
				told(false);
				const body = file.slice(received, received + PIECE);
				const address = `/uploads/${id}?offset=${received}`;
				const answer = await ask("PUT", address, { body, signal });
				received = Number(answer.received);
				breaks = 0;
			}
			told(false);
			const finished = await ask("POST", `/uploads/${id}/finish`, { signal });
			localStorage.removeItem(remembered(file));
			return String(finished.media);
		} catch (error) {
			if (signal.aborted) {
				localStorage.removeItem(remembered(file));
				if (id) {
					await ask("DELETE", `/uploads/${id}`).catch(() => undefined);
				}
				throw error;
			}
			if (error instanceof Refused && error.received !== undefined) {
				received = error.received;
				since = undefined;
				continue;
			}
			if (!mayPass(error)) {
				if (error instanceof Refused && [404, 413, 415].includes(error.status)) {
					localStorage.removeItem(remembered(file));
				}
				throw error;
			}
			// The file itself may have gone: then no waiting helps.
			await file.slice(0, 1).arrayBuffer();
			told(true);
			await pause(WAITS[Math.min(breaks, WAITS.length - 1)] ?? 15, signal);
			breaks += 1;
			id = "";
			since = undefined;
		}
	}
}

/**
 * Bytes for people.
 * @param {number} bytes
 */
export function size(bytes) {
	const units = ["KB", "MB", "GB"];
	let [shown, unit] = [bytes / 1000, 0];
	while (shown >= 1000 && unit < units.length - 1) {
		[shown, unit] = [shown / 1000, unit + 1];
	}
	return `${shown < 10 ? shown.toFixed(1) : Math.round(shown)} ${units[unit]}`;
}

/**
 * How far a recording has come, for people.
 * @param {Progress} progress
 */
export function words({ received, bytes, secondsLeft, waiting }) {
	const percent = Math.floor((100 * received) / bytes);
	const there = `${size(received)} of ${size(bytes)}, ${percent} %`;
	if (waiting) {
		return `${there}. The connection is away; this goes on by itself.`;
	}
	if (secondsLeft === undefined) {
		return there;
	}
	const minutes = Math.ceil(secondsLeft / 60);
	const left = secondsLeft < 60 ? `${Math.ceil(secondsLeft)} seconds` : `${minutes} minutes`;
	return `${there}, about ${minutes === 1 && secondsLeft >= 60 ? "1 minute" : left} left`;
}
