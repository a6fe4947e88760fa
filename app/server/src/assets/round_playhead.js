// @ts-check
// The playhead on the tide, and the talk and the list running along.

/**
 * Where a moment lies on the tide that is shown, and the other way round.
 * @param {number} length
 */
export function scaleOfTide(length) {
	const frame = [...document.querySelectorAll(".tide-frame")].find(
		(frame) => frame.getBoundingClientRect().width > 0,
	);
	if (!(frame instanceof HTMLElement)) {
		return undefined;
	}
	const [start, end] = [Number(frame.dataset.start), Number(frame.dataset.end)];
	const axis = Number(frame.dataset.axis);
	const box = frame.getBoundingClientRect();
	return {
		frame,
		height: box.height * axis,
		/** @param {number} millis */
		left: (millis) => box.width * (start + (end - start) * Math.min(1, millis / length)),
		/** @param {number} x from the left of the window */
		millis: (x) => (((x - box.left) / box.width - start) / (end - start)) * length,
	};
}

/**
 * The last of some elements, in order of time, that begins no later than a moment.
 * @param {HTMLElement[]} elements
 * @param {number} millis
 */
function current(elements, millis) {
	let found;
	for (const element of elements) {
		if (Number(element.dataset.at) > millis + 50) {
			break;
		}
		found = element;
	}
	return found;
}

/**
 * @param {HTMLElement} page
 * @param {import("./round_clock.js").Clock} clock
 * @param {import("./round_parts.js").Parts} parts
 */
export function startPlayhead(page, clock, parts) {
	const length = Number(page.dataset.length);
	const playhead = document.createElement("div");
	playhead.className = "playhead";
	const asked = document.createElement("div");
	asked.className = "asked-about";
	/** @type {HTMLElement[]} */
	let lines = [];
	/** @type {HTMLElement[]} */
	let entries = [];
	/** @type {HTMLElement | undefined} */
	let line;
	/** @type {HTMLElement | undefined} */
	let entry;
	let scale = scaleOfTide(length);

	/** @param {number} millis */
	function move(millis) {
		if (scale) {
			playhead.style.left = `${scale.left(millis)}px`;
			playhead.style.height = `${scale.height}px`;
		}
		const nextLine = current(lines, millis);
		if (nextLine !== line) {
			line?.classList.remove("now");
			nextLine?.classList.add("now");
			line = nextLine;
			const box = nextLine?.parentElement;
			// Somebody who points at the talk or is in it reads there.
			if (nextLine && box && !box.matches(":hover, :focus-within")) {
				box.scrollTo({ top: nextLine.offsetTop - box.clientHeight / 3 });
			}
		}
		const nextEntry = current(entries, millis);
		if (nextEntry !== entry) {
			entry?.classList.remove("now");
			nextEntry?.classList.add("now");
			entry = nextEntry;
		}
	}

	/** Marks the stretch that the question is about. */
	function mark() {
		const question = document.getElementById("question");
		asked.hidden = !question?.dataset.to || !scale;
		if (question?.dataset.to && scale) {
			const left = scale.left(Number(question.dataset.from));
			asked.style.left = `${left}px`;
			asked.style.width = `${scale.left(Number(question.dataset.to)) - left}px`;
			asked.style.height = `${scale.height}px`;
		}
	}

	function renew() {
		document.getElementById("part-tide")?.append(asked, playhead);
		lines = [...page.querySelectorAll(".lines-of-talk p")].filter((p) => p instanceof HTMLElement);
		entries = [...page.querySelectorAll(".entries > li")].filter((li) => li instanceof HTMLElement);
		[line, entry] = [undefined, undefined];
		scale = scaleOfTide(length);
		mark();
		move(clock.now());
	}

	// A press on the tide beside its links goes there too.
	page.addEventListener("click", (event) => {
		const target = /** @type {Element} */ (event.target);
		if (scale?.frame.contains(target) && !target.closest("a")) {
			clock.seek(scale.millis(/** @type {MouseEvent} */ (event).clientX));
		}
	});
	clock.onMove(move);
	parts.onChange(renew);
	window.addEventListener("resize", () => {
		scale = scaleOfTide(length);
		mark();
		move(clock.now());
	});
	renew();
}
