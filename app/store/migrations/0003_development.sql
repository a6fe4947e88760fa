-- What the coach keeps about how a student comes on. All of it belongs to the subject
-- 'student N' (see change_log).

-- What the student works towards.
CREATE TABLE goal (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES member (id) DEFERRABLE INITIALLY DEFERRED,
    set_on TEXT NOT NULL,
    words TEXT NOT NULL,
    reached_on TEXT
) STRICT;
CREATE INDEX goal_by_member ON goal (member_id);

-- Talks of the coach with the student; figures compare before and since the last one.
CREATE TABLE conversation (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES member (id) DEFERRABLE INITIALLY DEFERRED,
    day TEXT NOT NULL,
    words TEXT NOT NULL
) STRICT;
CREATE INDEX conversation_by_member ON conversation (member_id, day);

-- Words of the coach for the student's report; the latest are shown.
CREATE TABLE message (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES member (id) DEFERRABLE INITIALLY DEFERRED,
    day TEXT NOT NULL,
    words TEXT NOT NULL
) STRICT;
CREATE INDEX message_by_member ON message (member_id);

-- A ledger is said to be out of date, by an empty `reading`, when what it was read from changes.
-- Those of before were not, so each is read once more.
UPDATE ledger_state SET reading = '';
