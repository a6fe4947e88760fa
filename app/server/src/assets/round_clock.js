// @ts-check
// The time that the page is at: the recording's, or that of a silent clock where there is none.

/**
 * @typedef {object} Clock
 * @property {() => number} now the moment, in milliseconds
 * @property {(millis: number) => void} seek goes to a moment
 * @property {() => void} toggle plays or pauses
 * @property {(heard: (millis: number) => void) => void} onMove calls back whenever the moment changes
 */

/**
 * A moment as people write it, to the tenth of a second.
 * @param {number} millis
 */
export function written(millis) {
	const tenths = Math.round(millis / 100);
	const seconds = Math.floor(tenths / 10);
	const [minute, second] = [Math.floor(seconds / 60), seconds % 60];
	return `${minute}:${String(second).padStart(2, "0")}.${tenths % 10}`;
}

/**
 * A moment as forms send it.
 * @param {number} millis
 */
export function sent(millis) {
	return (Math.max(0, millis) / 1000).toFixed(3);
}

/**
 * The moment that an address's fragment names.
 * @param {string} fragment
 */
export function momentOf(fragment) {
	const found = /^#t=(\d+(?:\.\d+)?)$/.exec(fragment);
	return found ? Number(found[1]) * 1000 : undefined;
}

/**
 * A clock that runs without any recording.
 * @param {number} length
 */
function silent(length) {
	let at = 0;
	let since = /** @type {number | undefined} */ (undefined);
	const now = () => Math.min(length, since === undefined ? at : at + performance.now() - since);
	return {
		now,
		/** @param {number} millis */
		seek(millis) {
			at = millis;
			since = since === undefined ? undefined : performance.now();
		},
		playing: () => since !== undefined && now() < length,
		over: () => now() >= length,
		play() {
			at = now() >= length ? 0 : now();
			since = performance.now();
		},
		pause() {
			at = now();
			since = undefined;
		},
	};
}

/** @param {HTMLMediaElement} player */
function recorded(player) {
	return {
		now: () => player.currentTime * 1000,
		/** @param {number} millis */
		seek(millis) {
			player.currentTime = millis / 1000;
		},
		playing: () => !player.paused && !player.ended,
		over: () => player.ended,
		play() {
			player.play().catch(() => {});
		},
		pause: () => player.pause(),
	};
}

/**
 * @param {HTMLElement} page
 * @returns {Clock}
 */
export function startClock(page) {
	const length = Number(page.dataset.length);
	const player = /** @type {HTMLMediaElement | null} */ (document.getElementById("player"));
	const time = player ? recorded(player) : silent(length);
	const shown = document.getElementById("clock-time");
	const button = document.getElementById("clock-play");
	const loop = /** @type {HTMLInputElement | null} */ (document.getElementById("loop"));
	/** @type {((millis: number) => void)[]} */
	const listeners = [];
	let last = -1;
	let played = false;

	const tell = () => {
		const now = time.now();
		if (now !== last) {
			last = now;
			if (shown) {
				shown.textContent = written(now);
			}
			for (const listener of listeners) {
				listener(now);
			}
		}
		if (button) {
			button.textContent = time.playing() ? "Pause" : "Play";
			button.setAttribute("aria-pressed", String(time.playing()));
		}
	};

	const frame = () => {
		const question = document.getElementById("question");
		// A moment may last to the end, where playing stops by itself.
		const ended = played && !time.playing() && time.over();
		if (loop?.checked && question?.dataset.to && (time.playing() || ended)) {
			const [from, to] = [Number(question.dataset.from), Number(question.dataset.to)];
			if (ended || time.now() >= to || time.now() < from - 500) {
				time.seek(from);
			}
			if (ended) {
				time.play();
			}
		}
		played = time.playing();
		tell();
		requestAnimationFrame(frame);
	};

	const seek = (/** @type {number} */ millis) => {
		time.seek(Math.min(length, Math.max(0, millis)));
		tell();
	};
	const toggle = () => {
		if (time.playing()) {
			time.pause();
		} else {
			time.play();
		}
	};
	// Without a moment in the address the page begins where something is asked.
	const from = document.getElementById("question")?.dataset.from;
	const start = momentOf(location.hash) ?? (from ? Number(from) : undefined);
	if (player) {
		const begin = () => start !== undefined && seek(start);
		if (player.readyState > 0) {
			begin();
		} else {
			player.addEventListener("loadedmetadata", begin, { once: true });
		}
	} else if (start !== undefined) {
		seek(start);
	}
	button?.addEventListener("click", toggle);
	loop?.addEventListener("change", () => {
		const from = document.getElementById("question")?.dataset.from;
		if (loop.checked && from) {
			seek(Number(from));
			time.play();
		}
	});
	// Whatever names a moment goes there.
	page.addEventListener("click", (event) => {
		const target = /** @type {Element} */ (event.target);
		const link = target.closest("a[href^='#t=']");
		const moment = link ? momentOf(link.getAttribute("href") ?? "") : undefined;
		if (moment !== undefined) {
			event.preventDefault();
			history.replaceState(null, "", link?.getAttribute("href"));
			seek(moment);
		}
		const now = /** @type {HTMLElement | null} */ (target.closest("[data-now]"));
		const field = now && document.getElementById(now.dataset.now ?? "");
		if (field instanceof HTMLInputElement) {
			field.value = written(time.now());
		}
	});
	requestAnimationFrame(frame);
	return { now: time.now, seek, toggle, onMove: (heard) => listeners.push(heard) };
}
