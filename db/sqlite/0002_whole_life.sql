-- What people record rarely (assessments, notices, nonconformities …) is read from the journal itself; this finds it.
CREATE INDEX journal_by_kind ON journal (act, subject) WHERE act NOT IN ('control.run', 'control.judged')
-- next
ALTER TABLE assigned_range ADD COLUMN meter TEXT
-- next
ALTER TABLE strip_vial ADD COLUMN found_open TEXT
-- next
ALTER TABLE control_vial ADD COLUMN found_open TEXT
-- next
ALTER TABLE control_run ADD COLUMN supervisor TEXT
-- next
ALTER TABLE control_run ADD COLUMN deviation TEXT
-- next
ALTER TABLE control_run ADD COLUMN late_reason TEXT
-- next
ALTER TABLE control_run ADD COLUMN form TEXT
-- next
ALTER TABLE control_run ADD COLUMN question TEXT
-- next
ALTER TABLE control_run ADD COLUMN answer TEXT
-- next
ALTER TABLE comparison ADD COLUMN round TEXT
-- next
ALTER TABLE comparison ADD COLUMN lab_sample_type TEXT
-- next
ALTER TABLE comparison ADD COLUMN tube TEXT
-- next
ALTER TABLE comparison ADD COLUMN method TEXT
-- next
ALTER TABLE comparison ADD COLUMN fasting TEXT
-- next
ALTER TABLE comparison ADD COLUMN drawn_at TEXT
-- next
ALTER TABLE comparison ADD COLUMN separated_at TEXT
-- next
ALTER TABLE incident ADD COLUMN agent TEXT
-- next
ALTER TABLE incident ADD COLUMN contact_time_kept TEXT
-- next
ALTER TABLE incident ADD COLUMN used TEXT
-- next
ALTER TABLE lot_event ADD COLUMN no_samples TEXT
-- next
ALTER TABLE lookback ADD COLUMN alternative_from INTEGER
-- next
ALTER TABLE lookback ADD COLUMN used_until INTEGER
-- next
ALTER TABLE lookback ADD COLUMN scope TEXT
-- next
ALTER TABLE lookback ADD COLUMN direction TEXT
