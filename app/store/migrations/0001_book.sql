-- The academy's book. Dates are text, YYYY-MM-DD; moments of a round are milliseconds from its
-- start; moments of the world are seconds since 1970; yes and no are 1 and 0.
-- Whatever people can change belongs to one "subject" (see change_log) and is undone with it.

CREATE TABLE academy (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    name TEXT NOT NULL,
    invented INTEGER NOT NULL CHECK (invented IN (0, 1))
) STRICT;

CREATE TABLE member (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    -- The name in lower case: no two people have the same one.
    name_key TEXT NOT NULL UNIQUE,
    pronoun TEXT CHECK (pronoun IN ('he', 'she', 'they')),
    role TEXT NOT NULL CHECK (role IN ('student', 'assistant', 'coach')),
    belt TEXT NOT NULL,
    stripes INTEGER NOT NULL,
    belt_since TEXT,
    joined TEXT,
    weight REAL,
    birth_year INTEGER,
    notes TEXT NOT NULL,
    consent_club INTEGER NOT NULL CHECK (consent_club IN (0, 1)),
    consent_public INTEGER NOT NULL CHECK (consent_public IN (0, 1)),
    guardian TEXT,
    guardian_contact TEXT,
    guardian_club INTEGER NOT NULL CHECK (guardian_club IN (0, 1)),
    guardian_public INTEGER NOT NULL CHECK (guardian_public IN (0, 1)),
    has_left INTEGER NOT NULL CHECK (has_left IN (0, 1))
) STRICT;

CREATE TABLE class (
    id INTEGER PRIMARY KEY,
    day TEXT NOT NULL,
    title TEXT NOT NULL,
    topic TEXT NOT NULL,
    notes TEXT NOT NULL
) STRICT;
CREATE INDEX class_by_day ON class (day);

CREATE TABLE attendance (
    class_id INTEGER NOT NULL REFERENCES class (id) DEFERRABLE INITIALLY DEFERRED,
    member_id INTEGER NOT NULL REFERENCES member (id) DEFERRABLE INITIALLY DEFERRED,
    PRIMARY KEY (class_id, member_id)
) STRICT;
CREATE INDEX attendance_by_member ON attendance (member_id);

-- Media files lie in the media folder under their hash; no path is kept.
CREATE TABLE media (
    hash TEXT PRIMARY KEY CHECK (length(hash) = 64),
    name TEXT NOT NULL,
    media_type TEXT NOT NULL,
    bytes INTEGER NOT NULL
) STRICT;

CREATE TABLE round (
    id INTEGER PRIMARY KEY,
    day TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('flow', 'positional', 'hard', 'competition')),
    gi INTEGER NOT NULL CHECK (gi IN (0, 1)),
    first_id INTEGER NOT NULL REFERENCES member (id) DEFERRABLE INITIALLY DEFERRED,
    second_id INTEGER NOT NULL REFERENCES member (id) DEFERRABLE INITIALLY DEFERRED,
    length INTEGER NOT NULL CHECK (length > 0),
    class_id INTEGER REFERENCES class (id) DEFERRABLE INITIALLY DEFERRED,
    -- The captions as they came, and the name of their file.
    talk TEXT,
    talk_name TEXT,
    media_hash TEXT REFERENCES media (hash) DEFERRABLE INITIALLY DEFERRED,
    -- The day on which a person confirmed the whole ledger.
    confirmed TEXT,
    CHECK (first_id <> second_id)
) STRICT;
CREATE INDEX round_by_day ON round (day);
CREATE INDEX round_by_first ON round (first_id);
CREATE INDEX round_by_second ON round (second_id);

-- What a person answered; athletes are 0 (first) and 1 (second).
CREATE TABLE answer (
    id INTEGER PRIMARY KEY,
    round_id INTEGER NOT NULL REFERENCES round (id) DEFERRABLE INITIALLY DEFERRED,
    kind TEXT NOT NULL CHECK (kind IN ('state', 'top', 'spell', 'event', 'nothing', 'passed')),
    at INTEGER NOT NULL,
    position TEXT,
    event TEXT,
    athlete INTEGER CHECK (athlete IN (0, 1)),
    start_at INTEGER,
    end_at INTEGER
) STRICT;
CREATE INDEX answer_by_round ON answer (round_id);

-- Spells and events that a person entered or confirmed, and guessed events struck out.
CREATE TABLE hand_spell (
    id INTEGER PRIMARY KEY,
    round_id INTEGER NOT NULL REFERENCES round (id) DEFERRABLE INITIALLY DEFERRED,
    start_at INTEGER NOT NULL,
    end_at INTEGER NOT NULL,
    position TEXT NOT NULL,
    top INTEGER CHECK (top IN (0, 1)),
    variant TEXT,
    CHECK (start_at < end_at)
) STRICT;
CREATE INDEX hand_spell_by_round ON hand_spell (round_id);

CREATE TABLE hand_event (
    id INTEGER PRIMARY KEY,
    round_id INTEGER NOT NULL REFERENCES round (id) DEFERRABLE INITIALLY DEFERRED,
    at INTEGER NOT NULL,
    kind TEXT NOT NULL,
    actor INTEGER CHECK (actor IN (0, 1)),
    technique TEXT,
    struck INTEGER NOT NULL CHECK (struck IN (0, 1))
) STRICT;
CREATE INDEX hand_event_by_round ON hand_event (round_id);

-- A moment marked for somebody, with the coach's words.
CREATE TABLE remark (
    id INTEGER PRIMARY KEY,
    round_id INTEGER NOT NULL REFERENCES round (id) DEFERRABLE INITIALLY DEFERRED,
    at INTEGER NOT NULL,
    member_id INTEGER REFERENCES member (id) DEFERRABLE INITIALLY DEFERRED,
    words TEXT NOT NULL
) STRICT;
CREATE INDEX remark_by_round ON remark (round_id);
CREATE INDEX remark_by_member ON remark (member_id);

-- Words that the coach taught: what is heard, and the term or name that is meant.
CREATE TABLE spoken_form (
    id INTEGER PRIMARY KEY,
    heard TEXT NOT NULL,
    meant TEXT NOT NULL
) STRICT;

-- The ledger as last read from the talk, answers and entries by hand: a cache that may be deleted.
CREATE TABLE ledger_spell (
    round_id INTEGER NOT NULL,
    start_at INTEGER NOT NULL,
    end_at INTEGER NOT NULL,
    position TEXT NOT NULL,
    top INTEGER,
    variant TEXT,
    confidence REAL NOT NULL,
    source TEXT NOT NULL,
    PRIMARY KEY (round_id, start_at)
) STRICT;

CREATE TABLE ledger_event (
    round_id INTEGER NOT NULL,
    number INTEGER NOT NULL,
    at INTEGER NOT NULL,
    kind TEXT NOT NULL,
    actor INTEGER,
    technique TEXT,
    confidence REAL NOT NULL,
    source TEXT NOT NULL,
    PRIMARY KEY (round_id, number)
) STRICT;

-- By which reading (a hash of all that went into it) the cache was made, and what is still open.
CREATE TABLE ledger_state (
    round_id INTEGER PRIMARY KEY,
    reading TEXT NOT NULL,
    open_questions INTEGER NOT NULL
) STRICT;

-- Every change: who, when, what. `subject` says whose undo it belongs to ('round 5', 'roster',
-- 'classes', 'academy', 'words'). Changes of a subject form a line; the undone ones are its end,
-- and are forgotten when something new is done.
CREATE TABLE change_log (
    id INTEGER PRIMARY KEY,
    subject TEXT NOT NULL,
    who TEXT NOT NULL,
    made_at INTEGER NOT NULL,
    what TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('done', 'undone', 'forgotten'))
) STRICT;
CREATE INDEX change_log_by_subject ON change_log (subject, id);

-- How often a subject was changed, undone and done again: a page that was made before the last of
-- these is out of date.
CREATE TABLE subject_revision (
    subject TEXT PRIMARY KEY,
    revision INTEGER NOT NULL
) STRICT;

-- The next id of a table. An id is never given twice, so that doing again finds it free.
CREATE TABLE next_id (
    of_table TEXT PRIMARY KEY,
    next INTEGER NOT NULL
) STRICT;

-- The rows that a change touched, as JSON objects of all columns, before and after it. NULL where
-- there was or is no row.
CREATE TABLE change_row (
    change_id INTEGER NOT NULL REFERENCES change_log (id),
    number INTEGER NOT NULL,
    of_table TEXT NOT NULL,
    before_row TEXT,
    after_row TEXT,
    PRIMARY KEY (change_id, number)
) STRICT;

-- People who may log in from other machines. The password is kept as an argon2id hash only.
CREATE TABLE account (
    id INTEGER PRIMARY KEY,
    member_id INTEGER REFERENCES member (id) DEFERRABLE INITIALLY DEFERRED,
    login TEXT NOT NULL,
    login_key TEXT NOT NULL UNIQUE,
    role TEXT NOT NULL CHECK (role IN ('student', 'assistant', 'coach')),
    password TEXT NOT NULL
) STRICT;

-- Logged-in browsers. Only a hash of the token is kept.
CREATE TABLE login_session (
    token_hash TEXT PRIMARY KEY,
    account_id INTEGER NOT NULL REFERENCES account (id),
    expires_at INTEGER NOT NULL
) STRICT;
CREATE INDEX login_session_by_account ON login_session (account_id);

-- One-time invitations. Only a hash of the token is kept.
CREATE TABLE invitation (
    token_hash TEXT PRIMARY KEY,
    member_id INTEGER REFERENCES member (id) DEFERRABLE INITIALLY DEFERRED,
    role TEXT NOT NULL CHECK (role IN ('student', 'assistant', 'coach')),
    expires_at INTEGER NOT NULL
) STRICT;

-- Files that are still coming in: how much of them has arrived. Their bytes lie in the media
-- folder under the name of the upload.
CREATE TABLE upload (
    id TEXT PRIMARY KEY CHECK (length(id) = 32),
    name TEXT NOT NULL,
    bytes INTEGER NOT NULL,
    begun_at INTEGER NOT NULL
) STRICT;
