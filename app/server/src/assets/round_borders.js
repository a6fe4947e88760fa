// @ts-check
// Borders between positions, moved on the tide by pointer, finger or keyboard.

import { sent, written } from "./round_clock.js";
import { scaleOfTide } from "./round_playhead.js";

/** How far an arrow key moves a border, in milliseconds. */
const STEP = 500;

/** The size of a handle with some room around it, in pixels. */
const SIZE = 30;

/**
 * @param {HTMLElement} page
 * @param {import("./round_clock.js").Clock} clock
 * @param {import("./round_parts.js").Parts} parts
 */
export function startBorders(page, clock, parts) {
	const length = Number(page.dataset.length);
	const toggle = document.getElementById("show-borders");
	const hint = document.getElementById("border-hint");
	let shown = false;

	const handles = () =>
		[...page.querySelectorAll("#borders .border")].filter((b) => b instanceof HTMLElement);

	/** @param {HTMLElement} handle */
	const at = (handle) => Number(handle.getAttribute("aria-valuenow"));

	/**
	 * @param {HTMLElement} handle
	 * @param {number} millis
	 */
	function put(handle, millis) {
		const least = Number(handle.getAttribute("aria-valuemin"));
		const most = Number(handle.getAttribute("aria-valuemax"));
		const to = Math.min(most, Math.max(least, Math.round(millis / 100) * 100));
		handle.setAttribute("aria-valuenow", String(to));
		handle.setAttribute("aria-valuetext", written(to));
		handle.classList.toggle("moved", to !== Number(handle.dataset.at));
		const scale = scaleOfTide(length);
		if (scale) {
			handle.style.left = `${scale.left(to)}px`;
		}
		return to;
	}

	/** @param {HTMLElement} handle */
	function keep(handle) {
		const form = /** @type {HTMLFormElement | null} */ (document.getElementById("move-border"));
		if (form && at(handle) !== Number(handle.dataset.at)) {
			field(form, "at").value = sent(Number(handle.dataset.at));
			field(form, "to").value = sent(at(handle));
			const to = at(handle);
			parts.send(form, handle).then(() => document.getElementById(`border-${to}`)?.focus());
		}
	}

	function renew() {
		const box = document.getElementById("borders");
		if (box) {
			box.hidden = !shown;
		}
		const scale = scaleOfTide(length);
		const rows = Math.max(1, Math.floor((scale?.height ?? 0) / SIZE));
		/** @type {number[]} where the last handle of each row lies */
		const filled = Array(rows).fill(Number.NEGATIVE_INFINITY);
		for (const handle of handles()) {
			const moment = Number(handle.dataset.at);
			handle.id = `border-${moment}`;
			// Where it is, to the millisecond: only moving rounds.
			handle.setAttribute("aria-valuetext", written(moment));
			if (scale) {
				// The first row with room, so that no handle covers another one.
				const left = scale.left(moment);
				const free = filled.findIndex((last) => left - last >= SIZE);
				const row = free < 0 ? rows - 1 : free;
				filled[row] = left;
				const rise = row * SIZE;
				handle.style.left = `${left}px`;
				handle.style.top = `${rise}px`;
				handle.style.setProperty("--rise", `${-rise}px`);
				handle.style.setProperty("--fall", `${rise + SIZE - scale.height}px`);
			}
		}
	}

	toggle?.addEventListener("click", () => {
		shown = !shown;
		toggle.setAttribute("aria-pressed", String(shown));
		if (hint) {
			hint.hidden = !shown;
		}
		renew();
	});

	/** @param {Event} event */
	const handleOf = (event) =>
		/** @type {HTMLElement | null} */ (
			/** @type {Element} */ (event.target).closest("#borders .border")
		);

	/** @type {HTMLElement | null} */
	let dragged = null;
	page.addEventListener("pointerdown", (event) => {
		dragged = handleOf(event);
		if (dragged) {
			dragged.setPointerCapture(event.pointerId);
			dragged.focus();
			event.preventDefault();
		}
	});
	page.addEventListener("pointermove", (event) => {
		const scale = dragged && scaleOfTide(length);
		if (dragged && scale) {
			clock.seek(put(dragged, scale.millis(event.clientX)));
		}
	});
	page.addEventListener("pointerup", () => {
		if (dragged) {
			keep(dragged);
		}
		dragged = null;
	});
	page.addEventListener("pointercancel", () => {
		if (dragged) {
			put(dragged, Number(dragged.dataset.at));
		}
		dragged = null;
	});

	page.addEventListener("keydown", (event) => {
		const handle = handleOf(event);
		if (!handle) {
			return;
		}
		const steps = /** @type {Record<string, number>} */ ({
			ArrowLeft: -STEP,
			ArrowDown: -STEP,
			ArrowRight: STEP,
			ArrowUp: STEP,
			PageDown: -10 * STEP,
			PageUp: 10 * STEP,
		});
		const step = steps[event.key];
		if (step !== undefined) {
			clock.seek(put(handle, at(handle) + step));
		} else if (event.key === "Enter") {
			keep(handle);
		} else if (event.key === "Escape") {
			put(handle, Number(handle.dataset.at));
		} else {
			return;
		}
		event.preventDefault();
		event.stopPropagation();
	});

	parts.onChange(renew);
	window.addEventListener("resize", renew);
	renew();
}

/**
 * @param {HTMLFormElement} form
 * @param {string} name
 */
function field(form, name) {
	return /** @type {HTMLInputElement} */ (form.elements.namedItem(name));
}
