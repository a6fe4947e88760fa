-- Words for a student's report belong to a subject of their own, 'report N': whoever may undo a goal
-- need not be allowed to undo these.

INSERT INTO subject_revision (subject, revision)
SELECT 'report ' || substr(subject, 9), revision FROM subject_revision
WHERE subject LIKE 'student %' AND subject IN (
    SELECT subject FROM change_log WHERE id IN (
        SELECT change_id FROM change_row WHERE of_table = 'message'
    )
);

UPDATE change_log SET subject = 'report ' || substr(subject, 9)
WHERE subject LIKE 'student %' AND id IN (
    SELECT change_id FROM change_row WHERE of_table = 'message'
);
