-- The registry on a server: one schema, owned by meterkeep_migrate. Run as a member of that role, by `init` or `upgrade`; never by hand.
-- The roles themselves are made once, by the database's administrator, with roles.sql.
CREATE SCHEMA meterkeep AUTHORIZATION meterkeep_migrate;
SET LOCAL ROLE meterkeep_migrate;
SET LOCAL search_path = meterkeep, pg_temp;

CREATE TABLE schema_version (
    version bigint NOT NULL PRIMARY KEY,
    made_at timestamptz NOT NULL DEFAULT now()
);

-- The journal: the only truth. Append-only, gapless, chained. A partition holds the entries of one month (start_month below cuts them):
-- their numbers have no gaps, so that a number names its partition, and uniqueness needs no other key.
CREATE TABLE journal (
    seq bigint NOT NULL PRIMARY KEY,
    id text COLLATE "C" NOT NULL,
    at bigint NOT NULL,
    zone text COLLATE "C" NOT NULL,
    station text COLLATE "C" NOT NULL,
    operator text COLLATE "C" NOT NULL,
    act text COLLATE "C" NOT NULL,
    subject text COLLATE "C" NOT NULL,
    body text COLLATE "C" NOT NULL,
    prev text COLLATE "C" NOT NULL CHECK (length(prev) = 64),
    digest text COLLATE "C" NOT NULL CHECK (length(digest) = 64)
) PARTITION BY RANGE (seq);

CREATE TABLE journal_from_1 PARTITION OF journal FOR VALUES FROM (1) TO (MAXVALUE);

-- An id is used once, in whatever month.
CREATE TABLE journal_id (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    seq bigint NOT NULL
);

-- What people record rarely is read from the journal itself; this finds it.
CREATE INDEX journal_by_kind ON journal (act, subject) WHERE act NOT IN ('control.run', 'control.judged');

-- What every record of a file is called there, and the entry that carries it. plain_key has times as the wall clock shows them.
CREATE TABLE act_key (
    file text COLLATE "C" NOT NULL,
    key text COLLATE "C" NOT NULL,
    plain_key text COLLATE "C" NOT NULL,
    from_seq bigint NOT NULL,
    to_seq bigint,
    PRIMARY KEY (file, key, from_seq)
);

CREATE INDEX act_key_plain ON act_key (file, plain_key);

CREATE TABLE policy (
    version bigint NOT NULL PRIMARY KEY,
    from_at bigint,
    from_seq bigint NOT NULL
);

CREATE TABLE ward (
    ward text COLLATE "C" NOT NULL,
    name text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    PRIMARY KEY (ward, from_seq)
);

CREATE TABLE model (
    model text COLLATE "C" NOT NULL,
    unit text COLLATE "C" NOT NULL,
    low text COLLATE "C",
    high text COLLATE "C",
    haematocrit_low text COLLATE "C",
    haematocrit_high text COLLATE "C",
    needs_code text COLLATE "C",
    shared_use text COLLATE "C",
    market_approval text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    PRIMARY KEY (model, from_seq)
);

CREATE TABLE meter (
    meter text COLLATE "C" NOT NULL,
    model text COLLATE "C" NOT NULL,
    serial text COLLATE "C",
    ward text COLLATE "C" NOT NULL,
    enrolled text COLLATE "C" NOT NULL,
    state text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    PRIMARY KEY (meter, from_seq)
);

CREATE TABLE operator (
    operator text COLLATE "C" NOT NULL,
    name text COLLATE "C",
    role text COLLATE "C" NOT NULL,
    competent_from text COLLATE "C",
    competent_until text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    PRIMARY KEY (operator, from_seq)
);

CREATE TABLE strip_lot (
    lot text COLLATE "C" NOT NULL,
    model text COLLATE "C" NOT NULL,
    gtin text COLLATE "C",
    code text COLLATE "C",
    expiry text COLLATE "C",
    open_period text COLLATE "C",
    received text COLLATE "C",
    released text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    PRIMARY KEY (lot, from_seq)
);

CREATE TABLE strip_vial (
    vial text COLLATE "C" NOT NULL,
    lot text COLLATE "C" NOT NULL,
    opened text COLLATE "C",
    ward text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    found_open text COLLATE "C",
    PRIMARY KEY (vial, from_seq)
);

CREATE INDEX strip_vial_by_ward ON strip_vial (ward, opened);

CREATE TABLE control_lot (
    lot text COLLATE "C" NOT NULL,
    level text COLLATE "C" NOT NULL,
    expiry text COLLATE "C",
    open_period text COLLATE "C",
    received text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    PRIMARY KEY (lot, from_seq)
);

CREATE TABLE control_vial (
    vial text COLLATE "C" NOT NULL,
    lot text COLLATE "C" NOT NULL,
    opened text COLLATE "C",
    ward text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    found_open text COLLATE "C",
    PRIMARY KEY (vial, from_seq)
);

CREATE INDEX control_vial_by_ward ON control_vial (ward, opened);

CREATE TABLE assigned_range (
    strip_lot text COLLATE "C" NOT NULL,
    control_lot text COLLATE "C" NOT NULL,
    level text COLLATE "C" NOT NULL,
    unit text COLLATE "C" NOT NULL,
    low text COLLATE "C" NOT NULL,
    high text COLLATE "C" NOT NULL,
    mean text COLLATE "C",
    sd text COLLATE "C",
    stage text COLLATE "C",
    from_at text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    meter text COLLATE "C",
    PRIMARY KEY (strip_lot, control_lot, level, from_seq)
);

CREATE TABLE vial_end (
    at text COLLATE "C" NOT NULL,
    vial text COLLATE "C" NOT NULL,
    operator text COLLATE "C" NOT NULL,
    how text COLLATE "C" NOT NULL,
    from_seq bigint NOT NULL,
    to_seq bigint,
    PRIMARY KEY (vial, from_seq)
);

CREATE TABLE lot_event (
    at text COLLATE "C" NOT NULL,
    lot text COLLATE "C" NOT NULL,
    operator text COLLATE "C" NOT NULL,
    kind text COLLATE "C" NOT NULL,
    detail text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    no_samples text COLLATE "C",
    PRIMARY KEY (lot, from_seq)
);

CREATE TABLE incident (
    meter text COLLATE "C" NOT NULL,
    happened_at bigint NOT NULL,
    told_at bigint NOT NULL,
    at text COLLATE "C" NOT NULL,
    noticed_at text COLLATE "C",
    operator text COLLATE "C" NOT NULL,
    kind text COLLATE "C" NOT NULL,
    detail text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    agent text COLLATE "C",
    contact_time_kept text COLLATE "C",
    used text COLLATE "C",
    PRIMARY KEY (meter, happened_at, from_seq)
);

CREATE TABLE return_step (
    meter text COLLATE "C" NOT NULL,
    at text COLLATE "C" NOT NULL,
    operator text COLLATE "C" NOT NULL,
    step text COLLATE "C" NOT NULL,
    detail text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    PRIMARY KEY (meter, from_seq)
);

-- Which state from when on. from_at is when it became true, from_seq when it became known.
CREATE TABLE meter_state (
    meter text COLLATE "C" NOT NULL,
    from_at bigint NOT NULL,
    state text COLLATE "C" NOT NULL,
    before text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    PRIMARY KEY (meter, from_at, from_seq)
);

CREATE TABLE meter_ward (
    meter text COLLATE "C" NOT NULL,
    from_at bigint NOT NULL,
    ward text COLLATE "C" NOT NULL,
    from_seq bigint NOT NULL,
    to_seq bigint,
    PRIMARY KEY (meter, from_at, from_seq)
);

-- Holds and withdrawals, a cause each. Open while ended_seq is null.
CREATE TABLE meter_stop (
    meter text COLLATE "C" NOT NULL,
    from_at bigint NOT NULL,
    from_seq bigint NOT NULL,
    withdrawn bigint NOT NULL,
    cause text COLLATE "C" NOT NULL,
    because bigint NOT NULL,
    needs_signature bigint NOT NULL,
    by_policy text COLLATE "C" NOT NULL,
    ended_at bigint,
    ended_seq bigint,
    PRIMARY KEY (meter, from_seq)
);

-- Where the control statistics of a meter begin again.
CREATE TABLE segment_boundary (
    meter text COLLATE "C" NOT NULL,
    at bigint NOT NULL,
    what text COLLATE "C" NOT NULL,
    from_seq bigint NOT NULL,
    to_seq bigint,
    PRIMARY KEY (meter, at, from_seq)
);

-- Runs as typed; a correction closes one version and opens the next.
CREATE TABLE control_run (
    set_id text COLLATE "C" NOT NULL,
    run_seq bigint NOT NULL,
    from_seq bigint NOT NULL,
    to_seq bigint,
    at text COLLATE "C" NOT NULL,
    meter text COLLATE "C" NOT NULL,
    operator text COLLATE "C" NOT NULL,
    strip_vial text COLLATE "C" NOT NULL,
    level text COLLATE "C" NOT NULL,
    control_vial text COLLATE "C" NOT NULL,
    result text COLLATE "C" NOT NULL,
    unit text COLLATE "C" NOT NULL,
    reason text COLLATE "C",
    repeat_of text COLLATE "C",
    comment text COLLATE "C",
    code_shown text COLLATE "C",
    supervisor text COLLATE "C",
    deviation text COLLATE "C",
    late_reason text COLLATE "C",
    form text COLLATE "C",
    question text COLLATE "C",
    answer text COLLATE "C",
    PRIMARY KEY (set_id, run_seq, from_seq)
);

CREATE TABLE run_verdict (
    set_id text COLLATE "C" NOT NULL,
    run_seq bigint NOT NULL,
    from_seq bigint NOT NULL,
    to_seq bigint,
    level text COLLATE "C" NOT NULL,
    attempt bigint NOT NULL,
    valid bigint NOT NULL,
    invalid_because text COLLATE "C" NOT NULL,
    low text COLLATE "C",
    high text COLLATE "C",
    mean text COLLATE "C",
    sd text COLLATE "C",
    stage text COLLATE "C",
    in_range bigint,
    z double precision,
    evaluable bigint NOT NULL,
    counted bigint NOT NULL,
    rules text COLLATE "C" NOT NULL,
    strip_lot text COLLATE "C" NOT NULL,
    control_lot text COLLATE "C" NOT NULL,
    verdict text COLLATE "C" NOT NULL,
    PRIMARY KEY (set_id, run_seq, from_seq)
);

CREATE TABLE set_verdict (
    meter text COLLATE "C" NOT NULL,
    last_at bigint NOT NULL,
    set_id text COLLATE "C" NOT NULL,
    from_seq bigint NOT NULL,
    to_seq bigint,
    first_at bigint NOT NULL,
    first_text text COLLATE "C" NOT NULL,
    last_text text COLLATE "C" NOT NULL,
    ward text COLLATE "C" NOT NULL,
    attempt bigint NOT NULL,
    verdict text COLLATE "C" NOT NULL,
    rules text COLLATE "C" NOT NULL,
    shift bigint NOT NULL,
    segment_start bigint NOT NULL,
    counted bigint NOT NULL,
    drift text COLLATE "C" NOT NULL,
    policy bigint NOT NULL,
    rule_set bigint NOT NULL,
    old_verdict text COLLATE "C",
    because bigint,
    PRIMARY KEY (meter, last_at, set_id, from_seq)
);

CREATE INDEX set_verdict_by_set ON set_verdict (set_id);

CREATE TABLE comparison (
    meter text COLLATE "C" NOT NULL,
    known_at bigint NOT NULL,
    pair text COLLATE "C" NOT NULL,
    meter_at text COLLATE "C" NOT NULL,
    lab_at text COLLATE "C" NOT NULL,
    operator text COLLATE "C" NOT NULL,
    strip_vial text COLLATE "C",
    sample text COLLATE "C",
    sample_type text COLLATE "C",
    meter_result text COLLATE "C" NOT NULL,
    lab_result text COLLATE "C" NOT NULL,
    unit text COLLATE "C" NOT NULL,
    haematocrit text COLLATE "C",
    from_seq bigint NOT NULL,
    to_seq bigint,
    outcome text COLLATE "C",
    excluded_because text COLLATE "C",
    limits text COLLATE "C",
    policy bigint,
    judged_seq bigint,
    round text COLLATE "C",
    lab_sample_type text COLLATE "C",
    tube text COLLATE "C",
    method text COLLATE "C",
    fasting text COLLATE "C",
    drawn_at text COLLATE "C",
    separated_at text COLLATE "C",
    PRIMARY KEY (meter, known_at, pair, from_seq)
);

CREATE TABLE lookback (
    meter text COLLATE "C" NOT NULL,
    from_seq bigint NOT NULL,
    opened_at bigint NOT NULL,
    interval_from bigint NOT NULL,
    interval_to bigint NOT NULL,
    cause text COLLATE "C" NOT NULL,
    because bigint NOT NULL,
    closed_at bigint,
    closed_seq bigint,
    decision text COLLATE "C",
    alternative_from bigint,
    used_until bigint,
    scope text COLLATE "C",
    direction text COLLATE "C",
    PRIMARY KEY (meter, from_seq)
);

CREATE TABLE correction (
    set_id text COLLATE "C" NOT NULL,
    level text COLLATE "C" NOT NULL,
    from_seq bigint NOT NULL,
    at text COLLATE "C" NOT NULL,
    operator text COLLATE "C" NOT NULL,
    column_name text COLLATE "C" NOT NULL,
    old text COLLATE "C" NOT NULL,
    new text COLLATE "C" NOT NULL,
    reason text COLLATE "C" NOT NULL,
    confirmed_by text COLLATE "C",
    confirmed_seq bigint,
    PRIMARY KEY (set_id, from_seq)
);

CREATE TABLE note (
    meter text COLLATE "C" NOT NULL,
    from_seq bigint NOT NULL,
    at text COLLATE "C" NOT NULL,
    operator text COLLATE "C" NOT NULL,
    text text COLLATE "C" NOT NULL,
    PRIMARY KEY (meter, from_seq)
);

-- Entries that an annulment took back.
CREATE TABLE annulled (
    seq bigint NOT NULL PRIMARY KEY,
    by_seq bigint NOT NULL
);

CREATE TABLE clock_notice (
    seq bigint NOT NULL PRIMARY KEY,
    direction text COLLATE "C" NOT NULL,
    now_at bigint NOT NULL
);

-- What a person's password or PIN is checked against: scheme, figures, salt, stretched secret, random digits, colons between. Nobody reads it;
-- the functions credential_... below use it.
CREATE TABLE credential (
    operator text COLLATE "C" NOT NULL PRIMARY KEY,
    check_text text COLLATE "C" NOT NULL
);

-- Makes an id without a secret look like one with a secret. Nobody reads it either.
CREATE TABLE server_secret (
    only_one boolean NOT NULL PRIMARY KEY DEFAULT true CHECK (only_one),
    bytes bytea NOT NULL DEFAULT sha256(convert_to(gen_random_uuid()::text || gen_random_uuid()::text, 'UTF8'))
);
INSERT INTO server_secret DEFAULT VALUES;

-- Who may append which kind. A member of meterkeep_record records what happens on the ward; only a member of meterkeep_review decides about
-- meters, lots, people, the policy and the month. meterkeep_migrate appends only in the transaction that founds the registry or moves it in.
CREATE FUNCTION journal_guard() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = meterkeep, pg_temp AS $guard$
DECLARE
    last_seq bigint;
    last_digest text;
    digested text;
BEGIN
    -- One order of entries: whoever appends waits here for whoever appended before and has not yet committed.
    PERFORM pg_advisory_xact_lock(1299476336, 1);
    SELECT seq, digest INTO last_seq, last_digest FROM journal ORDER BY seq DESC LIMIT 1;
    IF NEW.seq IS DISTINCT FROM coalesce(last_seq, 0) + 1 OR NEW.prev IS DISTINCT FROM coalesce(last_digest, repeat('0', 64)) THEN
        RAISE EXCEPTION 'journal entries follow one another without gaps' USING ERRCODE = 'MK001';
    END IF;
    -- The canonical JSON of the entry, as the programs digest it (RFC 8785 escapes as to_json does).
    digested := '{"act":' || to_json(NEW.act)::text || ',"at":' || NEW.at || ',"body":' || NEW.body || ',"id":' || to_json(NEW.id)::text
        || ',"operator":' || to_json(NEW.operator)::text || ',"seq":' || NEW.seq || ',"station":' || to_json(NEW.station)::text
        || ',"subject":' || to_json(NEW.subject)::text || ',"zone":' || to_json(NEW.zone)::text || '}';
    IF encode(sha256(decode(NEW.prev, 'hex') || convert_to(digested, 'UTF8')), 'hex') IS DISTINCT FROM NEW.digest THEN
        RAISE EXCEPTION 'the digest of a journal entry is not that of its content' USING ERRCODE = 'MK001';
    END IF;
    IF NOT (pg_has_role(session_user, 'meterkeep_review', 'MEMBER')
        OR (pg_has_role(session_user, 'meterkeep_record', 'MEMBER')
            AND NEW.act NOT IN ('ward.added', 'model.added', 'meter.enrolled', 'meter.described', 'acceptance.checked', 'operator.enrolled', 'operator.changed',
                'operator.competency', 'policy.changed', 'review.signed', 'late_entry.accepted', 'notice.issued', 'notice.closed', 'vial.released',
                'lookback.recorded', 'sign_in.unlocked', 'secret.recovered', 'registry.founded', 'registry.moved', 'registry.restored'))
        OR (pg_has_role(session_user, 'meterkeep_inspect', 'MEMBER') AND NEW.act IN ('records.shown', 'session.begun', 'session.ended', 'sign_in.failed', 'secret.set', 'clock.noticed'))
        OR (pg_has_role(session_user, 'meterkeep_migrate', 'MEMBER')
            AND (NEW.seq = 1 OR NEW.act = 'registry.moved'
                OR EXISTS (SELECT 1 FROM journal WHERE seq = 1 AND xmin = pg_current_xact_id()::xid)))) THEN
        RAISE EXCEPTION 'this database user may not record an entry of kind %', NEW.act USING ERRCODE = 'MK003';
    END IF;
    INSERT INTO journal_id (id, seq) VALUES (NEW.id, NEW.seq);
    PERFORM pg_notify('meterkeep_journal', '');
    RETURN NEW;
END
$guard$;

CREATE FUNCTION never_changed() RETURNS trigger LANGUAGE plpgsql AS $never$
BEGIN
    RAISE EXCEPTION 'the journal is never changed, and nothing is deleted from it' USING ERRCODE = 'MK002';
END
$never$;

CREATE TRIGGER journal_guard BEFORE INSERT ON journal FOR EACH ROW EXECUTE FUNCTION journal_guard();
CREATE TRIGGER journal_never_changed BEFORE UPDATE OR DELETE ON journal FOR EACH ROW EXECUTE FUNCTION never_changed();
CREATE TRIGGER journal_never_emptied BEFORE TRUNCATE ON journal FOR EACH STATEMENT EXECUTE FUNCTION never_changed();
CREATE TRIGGER journal_never_emptied BEFORE TRUNCATE ON journal_from_1 FOR EACH STATEMENT EXECUTE FUNCTION never_changed();
CREATE TRIGGER journal_id_never_changed BEFORE UPDATE OR DELETE OR TRUNCATE ON journal_id FOR EACH STATEMENT EXECUTE FUNCTION never_changed();

-- Ends the partition of the months before, so that new entries go into one of their own. For the server's nightly job, as a member of
-- meterkeep_migrate; does nothing where the newest partition already began this month. Returns the name of the newest partition.
CREATE FUNCTION start_month(today date DEFAULT current_date) RETURNS text LANGUAGE plpgsql SET search_path = meterkeep, pg_temp AS $month$
DECLARE
    newest text;
    first bigint;
    head bigint;
    began bigint;
BEGIN
    PERFORM pg_advisory_xact_lock(1299476336, 1);
    SELECT c.relname, substring(c.relname FROM 'journal_from_(\d+)')::bigint INTO newest, first
        FROM pg_inherits i JOIN pg_class c ON c.oid = i.inhrelid WHERE i.inhparent = 'meterkeep.journal'::regclass
        ORDER BY substring(c.relname FROM 'journal_from_(\d+)')::bigint DESC LIMIT 1;
    SELECT seq INTO head FROM journal ORDER BY seq DESC LIMIT 1;
    SELECT at INTO began FROM journal WHERE seq = first;
    IF head IS NULL OR began IS NULL OR began >= extract(epoch FROM date_trunc('month', today)) * 1000 THEN
        RETURN newest;
    END IF;
    -- The check lets ATTACH believe the bound without reading the rows again.
    EXECUTE format('ALTER TABLE %I ADD CONSTRAINT bound CHECK (seq >= %s AND seq <= %s)', newest, first, head);
    EXECUTE format('ALTER TABLE journal DETACH PARTITION %I', newest);
    EXECUTE format('ALTER TABLE journal ATTACH PARTITION %I FOR VALUES FROM (%s) TO (%s)', newest, first, head + 1);
    EXECUTE format('ALTER TABLE %I DROP CONSTRAINT bound', newest);
    newest := 'journal_from_' || head + 1;
    EXECUTE format('CREATE TABLE %I PARTITION OF journal FOR VALUES FROM (%s) TO (MAXVALUE)', newest, head + 1);
    EXECUTE format('CREATE TRIGGER journal_never_emptied BEFORE TRUNCATE ON %I FOR EACH STATEMENT EXECUTE FUNCTION never_changed()', newest);
    RETURN newest;
END
$month$;

-- How a secret of that id is to be stretched. For an id without one: the same at each time, and like any other.
-- usual  scheme and figures of today's programs, with the colon before the salt
CREATE FUNCTION credential_rule(person text, usual text) RETURNS text LANGUAGE sql STABLE SECURITY DEFINER SET search_path = meterkeep, pg_temp AS $rule$
    SELECT coalesce((SELECT substring(check_text FROM '^([^:]+:[^:]+:[^:]+:[^:]+:[^:]+):') FROM credential WHERE operator = person),
        usual || encode(substring(sha256(bytes || convert_to(person, 'UTF8')) FROM 1 FOR 16), 'hex')) FROM server_secret
$rule$;

-- Is that what the row holds, but for its random digits? One question at a time for an id, and a wrong one takes a quarter of a second: who asks
-- past the programs, which lock after a few tries, gets four guesses a second.
CREATE FUNCTION credential_check(person text, given text) RETURNS boolean LANGUAGE plpgsql SECURITY DEFINER SET search_path = meterkeep, pg_temp AS $check$
DECLARE
    is_right boolean;
BEGIN
    PERFORM pg_advisory_xact_lock(1299476337, hashtext(person));
    is_right := coalesce((SELECT substring(check_text FROM '^(.*):[^:]+$') = given FROM credential WHERE operator = person), false);
    IF NOT is_right THEN
        PERFORM pg_sleep(0.25);
    END IF;
    RETURN is_right;
END
$check$;

-- A member of meterkeep_review gives secrets out; whoever knows the present one replaces it.
CREATE FUNCTION credential_set(person text, new_text text, present text) RETURNS boolean LANGUAGE plpgsql SECURITY DEFINER SET search_path = meterkeep, pg_temp AS $set$
BEGIN
    IF NOT pg_has_role(session_user, 'meterkeep_review', 'MEMBER') AND NOT credential_check(person, present) THEN
        RAISE EXCEPTION 'this database user may not give out a secret' USING ERRCODE = 'MK003';
    END IF;
    INSERT INTO credential (operator, check_text) VALUES (person, new_text) ON CONFLICT (operator) DO UPDATE SET check_text = excluded.check_text;
    RETURN true;
END
$set$;

-- What the journal says of each row. The random digits in a row keep its seal from being of use to whoever guesses secrets.
CREATE FUNCTION credential_seals() RETURNS TABLE (operator text, seal text) LANGUAGE sql STABLE SECURITY DEFINER SET search_path = meterkeep, pg_temp AS $seals$
    SELECT c.operator, encode(sha256(convert_to(c.check_text, 'UTF8')), 'hex') FROM credential c
$seals$;

-- Rights. Nothing is granted that deletes; only the columns that close a version may be changed.
GRANT USAGE ON SCHEMA meterkeep TO meterkeep_record, meterkeep_inspect;
GRANT SELECT ON ALL TABLES IN SCHEMA meterkeep TO meterkeep_record, meterkeep_inspect;
REVOKE ALL ON credential, server_secret FROM meterkeep_record, meterkeep_inspect;
REVOKE ALL ON FUNCTION credential_rule, credential_check, credential_set, credential_seals FROM PUBLIC;
GRANT EXECUTE ON FUNCTION credential_rule, credential_check, credential_set, credential_seals TO meterkeep_record, meterkeep_inspect;
GRANT INSERT ON journal TO meterkeep_record, meterkeep_inspect;
GRANT INSERT ON act_key, policy, ward, model, meter, operator, strip_lot, strip_vial, control_lot, control_vial, assigned_range, vial_end, lot_event, incident, return_step, meter_state, meter_ward, meter_stop, segment_boundary, control_run, run_verdict, set_verdict, comparison, lookback, correction, note, annulled, clock_notice
    TO meterkeep_record;
GRANT UPDATE (to_seq) ON act_key TO meterkeep_record;
GRANT UPDATE (to_seq) ON ward TO meterkeep_record;
GRANT UPDATE (to_seq) ON model TO meterkeep_record;
GRANT UPDATE (to_seq) ON meter TO meterkeep_record;
GRANT UPDATE (to_seq) ON operator TO meterkeep_record;
GRANT UPDATE (to_seq) ON strip_lot TO meterkeep_record;
GRANT UPDATE (to_seq) ON strip_vial TO meterkeep_record;
GRANT UPDATE (to_seq) ON control_lot TO meterkeep_record;
GRANT UPDATE (to_seq) ON control_vial TO meterkeep_record;
GRANT UPDATE (to_seq) ON assigned_range TO meterkeep_record;
GRANT UPDATE (to_seq) ON vial_end TO meterkeep_record;
GRANT UPDATE (to_seq) ON lot_event TO meterkeep_record;
GRANT UPDATE (to_seq) ON incident TO meterkeep_record;
GRANT UPDATE (to_seq) ON return_step TO meterkeep_record;
GRANT UPDATE (to_seq) ON meter_state TO meterkeep_record;
GRANT UPDATE (to_seq) ON meter_ward TO meterkeep_record;
GRANT UPDATE (to_seq) ON segment_boundary TO meterkeep_record;
GRANT UPDATE (to_seq) ON control_run TO meterkeep_record;
GRANT UPDATE (to_seq) ON run_verdict TO meterkeep_record;
GRANT UPDATE (to_seq) ON set_verdict TO meterkeep_record;
GRANT UPDATE (to_seq, outcome, excluded_because, limits, policy, judged_seq) ON comparison TO meterkeep_record;
GRANT UPDATE (ended_at, ended_seq) ON meter_stop TO meterkeep_record;
GRANT UPDATE (closed_at, closed_seq, decision) ON lookback TO meterkeep_record;
GRANT UPDATE (confirmed_by, confirmed_seq) ON correction TO meterkeep_record;
GRANT INSERT ON clock_notice TO meterkeep_inspect; -- their own trace may be what shows that a clock leapt
