-- A run's score against the meter's own usual value, that value and the base of its lots, percent and the units of the result.
SET LOCAL ROLE meterkeep_migrate;
SET LOCAL search_path = meterkeep, pg_temp;

ALTER TABLE run_verdict ADD COLUMN u double precision, ADD COLUMN usual double precision, ADD COLUMN base double precision;

-- The guard of the journal as before; that a meter is taken as it stands is the coordinator's to say.
CREATE OR REPLACE FUNCTION journal_guard() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = meterkeep, pg_temp AS $guard$
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
    -- What is no JSON could never be read again; a cast that fails ends the statement.
    IF json_typeof(NEW.body::json) IS DISTINCT FROM 'object' THEN
        RAISE EXCEPTION 'the body of a journal entry is a JSON object' USING ERRCODE = 'MK001';
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
                'lookback.recorded', 'meter.taken_as_it_stands', 'sign_in.unlocked', 'secret.recovered', 'registry.founded', 'registry.moved', 'registry.restored'))
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
