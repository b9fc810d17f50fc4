-- The journal: the only truth. Append-only, gapless, chained.
CREATE TABLE journal (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    at INTEGER NOT NULL,
    zone TEXT NOT NULL,
    station TEXT NOT NULL,
    operator TEXT NOT NULL,
    act TEXT NOT NULL,
    subject TEXT NOT NULL,
    body TEXT NOT NULL,
    prev TEXT NOT NULL CHECK (length(prev) = 64),
    digest TEXT NOT NULL CHECK (length(digest) = 64)
) STRICT
-- next
CREATE TRIGGER journal_no_update BEFORE UPDATE ON journal
BEGIN
    SELECT RAISE(ABORT, 'the journal is never changed');
END
-- next
CREATE TRIGGER journal_no_delete BEFORE DELETE ON journal
BEGIN
    SELECT RAISE(ABORT, 'nothing is deleted from the journal');
END
-- next
-- Also stops INSERT OR REPLACE, which walks past the delete trigger where recursive triggers are off.
CREATE TRIGGER journal_in_order BEFORE INSERT ON journal
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM journal) OR EXISTS (SELECT 1 FROM journal WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'journal entries follow one another without gaps and only once');
END
-- next
-- What every record of a file is called there, and the entry that carries it. plain_key has times as the wall clock shows them.
CREATE TABLE act_key (
    file TEXT NOT NULL,
    key TEXT NOT NULL,
    plain_key TEXT NOT NULL,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (file, key, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE INDEX act_key_plain ON act_key (file, plain_key)
-- next
CREATE TABLE policy (
    version INTEGER NOT NULL PRIMARY KEY,
    from_at INTEGER,
    from_seq INTEGER NOT NULL
) STRICT
-- next
CREATE TABLE ward (
    ward TEXT NOT NULL,
    name TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (ward, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE model (
    model TEXT NOT NULL,
    unit TEXT NOT NULL,
    low TEXT,
    high TEXT,
    haematocrit_low TEXT,
    haematocrit_high TEXT,
    needs_code TEXT,
    shared_use TEXT,
    market_approval TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (model, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE meter (
    meter TEXT NOT NULL,
    model TEXT NOT NULL,
    serial TEXT,
    ward TEXT NOT NULL,
    enrolled TEXT NOT NULL,
    state TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (meter, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE operator (
    operator TEXT NOT NULL,
    name TEXT,
    role TEXT NOT NULL,
    competent_from TEXT,
    competent_until TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (operator, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE strip_lot (
    lot TEXT NOT NULL,
    model TEXT NOT NULL,
    gtin TEXT,
    code TEXT,
    expiry TEXT,
    open_period TEXT,
    received TEXT,
    released TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (lot, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE strip_vial (
    vial TEXT NOT NULL,
    lot TEXT NOT NULL,
    opened TEXT,
    ward TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (vial, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE INDEX strip_vial_by_ward ON strip_vial (ward, opened)
-- next
CREATE TABLE control_lot (
    lot TEXT NOT NULL,
    level TEXT NOT NULL,
    expiry TEXT,
    open_period TEXT,
    received TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (lot, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE control_vial (
    vial TEXT NOT NULL,
    lot TEXT NOT NULL,
    opened TEXT,
    ward TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (vial, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE INDEX control_vial_by_ward ON control_vial (ward, opened)
-- next
CREATE TABLE assigned_range (
    strip_lot TEXT NOT NULL,
    control_lot TEXT NOT NULL,
    level TEXT NOT NULL,
    unit TEXT NOT NULL,
    low TEXT NOT NULL,
    high TEXT NOT NULL,
    mean TEXT,
    sd TEXT,
    stage TEXT,
    from_at TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (strip_lot, control_lot, level, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE vial_end (
    at TEXT NOT NULL,
    vial TEXT NOT NULL,
    operator TEXT NOT NULL,
    how TEXT NOT NULL,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (vial, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE lot_event (
    at TEXT NOT NULL,
    lot TEXT NOT NULL,
    operator TEXT NOT NULL,
    kind TEXT NOT NULL,
    detail TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (lot, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE incident (
    meter TEXT NOT NULL,
    happened_at INTEGER NOT NULL,
    told_at INTEGER NOT NULL,
    at TEXT NOT NULL,
    noticed_at TEXT,
    operator TEXT NOT NULL,
    kind TEXT NOT NULL,
    detail TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (meter, happened_at, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE return_step (
    meter TEXT NOT NULL,
    at TEXT NOT NULL,
    operator TEXT NOT NULL,
    step TEXT NOT NULL,
    detail TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (meter, from_seq)
) STRICT, WITHOUT ROWID
-- next
-- Which state from when on. from_at is when it became true, from_seq when it became known.
CREATE TABLE meter_state (
    meter TEXT NOT NULL,
    from_at INTEGER NOT NULL,
    state TEXT NOT NULL,
    before TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (meter, from_at, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE meter_ward (
    meter TEXT NOT NULL,
    from_at INTEGER NOT NULL,
    ward TEXT NOT NULL,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (meter, from_at, from_seq)
) STRICT, WITHOUT ROWID
-- next
-- Holds and withdrawals, a cause each. Open while ended_seq is null.
CREATE TABLE meter_stop (
    meter TEXT NOT NULL,
    from_at INTEGER NOT NULL,
    from_seq INTEGER NOT NULL,
    withdrawn INTEGER NOT NULL,
    cause TEXT NOT NULL,
    because INTEGER NOT NULL,
    needs_signature INTEGER NOT NULL,
    by_policy TEXT NOT NULL,
    ended_at INTEGER,
    ended_seq INTEGER,
    PRIMARY KEY (meter, from_seq)
) STRICT, WITHOUT ROWID
-- next
-- Where the control statistics of a meter begin again.
CREATE TABLE segment_boundary (
    meter TEXT NOT NULL,
    at INTEGER NOT NULL,
    what TEXT NOT NULL,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    PRIMARY KEY (meter, at, from_seq)
) STRICT, WITHOUT ROWID
-- next
-- Runs as typed; a correction closes one version and opens the next.
CREATE TABLE control_run (
    set_id TEXT NOT NULL,
    run_seq INTEGER NOT NULL,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    at TEXT NOT NULL,
    meter TEXT NOT NULL,
    operator TEXT NOT NULL,
    strip_vial TEXT NOT NULL,
    level TEXT NOT NULL,
    control_vial TEXT NOT NULL,
    result TEXT NOT NULL,
    unit TEXT NOT NULL,
    reason TEXT,
    repeat_of TEXT,
    comment TEXT,
    code_shown TEXT,
    PRIMARY KEY (set_id, run_seq, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE run_verdict (
    set_id TEXT NOT NULL,
    run_seq INTEGER NOT NULL,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    level TEXT NOT NULL,
    attempt INTEGER NOT NULL,
    valid INTEGER NOT NULL,
    invalid_because TEXT NOT NULL,
    low TEXT,
    high TEXT,
    mean TEXT,
    sd TEXT,
    stage TEXT,
    in_range INTEGER,
    z REAL,
    evaluable INTEGER NOT NULL,
    counted INTEGER NOT NULL,
    rules TEXT NOT NULL,
    strip_lot TEXT NOT NULL,
    control_lot TEXT NOT NULL,
    verdict TEXT NOT NULL,
    PRIMARY KEY (set_id, run_seq, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE set_verdict (
    meter TEXT NOT NULL,
    last_at INTEGER NOT NULL,
    set_id TEXT NOT NULL,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    first_at INTEGER NOT NULL,
    first_text TEXT NOT NULL,
    last_text TEXT NOT NULL,
    ward TEXT NOT NULL,
    attempt INTEGER NOT NULL,
    verdict TEXT NOT NULL,
    rules TEXT NOT NULL,
    shift INTEGER NOT NULL,
    segment_start INTEGER NOT NULL,
    counted INTEGER NOT NULL,
    drift TEXT NOT NULL,
    policy INTEGER NOT NULL,
    rule_set INTEGER NOT NULL,
    old_verdict TEXT,
    because INTEGER,
    PRIMARY KEY (meter, last_at, set_id, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE INDEX set_verdict_by_set ON set_verdict (set_id)
-- next
CREATE TABLE comparison (
    meter TEXT NOT NULL,
    known_at INTEGER NOT NULL,
    pair TEXT NOT NULL,
    meter_at TEXT NOT NULL,
    lab_at TEXT NOT NULL,
    operator TEXT NOT NULL,
    strip_vial TEXT,
    sample TEXT,
    sample_type TEXT,
    meter_result TEXT NOT NULL,
    lab_result TEXT NOT NULL,
    unit TEXT NOT NULL,
    haematocrit TEXT,
    from_seq INTEGER NOT NULL,
    to_seq INTEGER,
    outcome TEXT,
    excluded_because TEXT,
    limits TEXT,
    policy INTEGER,
    judged_seq INTEGER,
    PRIMARY KEY (meter, known_at, pair, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE lookback (
    meter TEXT NOT NULL,
    from_seq INTEGER NOT NULL,
    opened_at INTEGER NOT NULL,
    interval_from INTEGER NOT NULL,
    interval_to INTEGER NOT NULL,
    cause TEXT NOT NULL,
    because INTEGER NOT NULL,
    closed_at INTEGER,
    closed_seq INTEGER,
    decision TEXT,
    PRIMARY KEY (meter, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE correction (
    set_id TEXT NOT NULL,
    level TEXT NOT NULL,
    from_seq INTEGER NOT NULL,
    at TEXT NOT NULL,
    operator TEXT NOT NULL,
    column_name TEXT NOT NULL,
    old TEXT NOT NULL,
    new TEXT NOT NULL,
    reason TEXT NOT NULL,
    confirmed_by TEXT,
    confirmed_seq INTEGER,
    PRIMARY KEY (set_id, from_seq)
) STRICT, WITHOUT ROWID
-- next
CREATE TABLE note (
    meter TEXT NOT NULL,
    from_seq INTEGER NOT NULL,
    at TEXT NOT NULL,
    operator TEXT NOT NULL,
    text TEXT NOT NULL,
    PRIMARY KEY (meter, from_seq)
) STRICT, WITHOUT ROWID
-- next
-- Entries that an annulment took back.
CREATE TABLE annulled (
    seq INTEGER NOT NULL PRIMARY KEY,
    by_seq INTEGER NOT NULL
) STRICT
-- next
CREATE TABLE clock_notice (
    seq INTEGER NOT NULL PRIMARY KEY,
    direction TEXT NOT NULL,
    now_at INTEGER NOT NULL
) STRICT
