// Records how a general WebVTT parser reads the corpus, as JSON beside this file.
//
//   npm install --no-save webvtt-parser@2.2.0
//   node webvtt_parser.mjs ../captions/ok/*.vtt ../captions/err/*.vtt
//
// The parser is the one of the W3C's own validator page (npm: webvtt-parser 2.2.0, public domain).
// Per file: whether the signature is right, and per cue its times in milliseconds and its text in
// pieces: {"text", "voice"} as shown on the screen (without ruby text), or {"time"}.
import { createRequire } from "node:module";
import { readFileSync, writeFileSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const require = createRequire(join(process.cwd(), "package.json"));
const { WebVTTParser } = require("webvtt-parser");
const entities = require("webvtt-parser/html-entities.json");
const here = dirname(fileURLToPath(import.meta.url));
const millis = (seconds) => Math.round(seconds * 1000);

function pieces(node, voice, out) {
  for (const child of node.children) {
    if (child.type === "text") {
      const last = out.at(-1);
      if (last && "text" in last && last.voice === voice) last.text += child.value;
      else out.push({ text: child.value, voice });
    } else if (child.type === "timestamp") {
      out.push({ time: millis(child.value) });
    } else if (child.name !== "rt") {
      pieces(child, child.name === "v" ? child.value || null : voice, out);
    }
  }
  return out;
}

for (const file of process.argv.slice(2)) {
  // As a browser decodes: a byte order mark goes, wrong bytes become replacement characters.
  const text = new TextDecoder("utf-8").decode(readFileSync(file));
  const result = new WebVTTParser(entities).parse(text, "captions");
  const signature = !result.errors.some((error) => error.message.startsWith("No valid signature"));
  const cues = result.cues.map((cue) => ({
    start: millis(cue.startTime),
    end: millis(cue.endTime),
    pieces: pieces(cue.tree, null, []),
  }));
  const lines = cues.map((cue) => "  " + JSON.stringify(cue));
  const body = `{"signature": ${signature}, "cues": [\n${lines.join(",\n")}\n]}\n`;
  writeFileSync(join(here, basename(file) + ".json"), body);
}
