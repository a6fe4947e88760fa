// @ts-check
// The page of a round: its parts put together. Without this script the page works by its forms.

import { startBorders } from "./round_borders.js";
import { startClock } from "./round_clock.js";
import { startKeys } from "./round_keys.js";
import { startParts } from "./round_parts.js";
import { startPlayhead } from "./round_playhead.js";
import { startRecording } from "./round_recording.js";
import { startWords } from "./round_words.js";

const page = document.getElementById("round");
if (page) {
	document.documentElement.classList.add("with-script");
	const clock = startClock(page);
	const parts = startParts(page, clock);
	startPlayhead(page, clock, parts);
	startBorders(page, clock, parts);
	startWords(page, clock);
	startKeys(page, clock);
	startRecording(page);
}
