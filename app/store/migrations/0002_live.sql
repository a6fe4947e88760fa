-- Rounds told live, beside the mat: what was pressed, as it came in. A press is known by the page
-- it was made on and its number there, so that sending it again doubles nothing.

CREATE TABLE live_press (
    id INTEGER PRIMARY KEY,
    round_id INTEGER NOT NULL,
    page TEXT NOT NULL,
    number INTEGER NOT NULL,
    at INTEGER NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('start', 'position', 'event', 'undo', 'finish')),
    -- A position's or an event's id.
    what TEXT,
    athlete INTEGER CHECK (athlete IN (0, 1)),
    -- Of a start: when it was by the clock of the telephone, in milliseconds since 1970.
    clock INTEGER,
    UNIQUE (round_id, page, number)
) STRICT;

-- A round that is told live, until it is finished.
CREATE TABLE live_round (
    round_id INTEGER PRIMARY KEY
) STRICT;

-- The list of rounds runs along this without touching the rounds (and their talk) it skips.
DROP INDEX round_by_day;
CREATE INDEX round_by_day ON round (day, id, confirmed, first_id, second_id);
