-- What a person waits for may not read a whole table, however long the history.
SET LOCAL ROLE meterkeep_migrate;
SET LOCAL search_path = meterkeep, pg_temp;

-- The runs of one meter and of one vial, and the comparisons with it.
CREATE INDEX control_run_by_meter ON control_run (meter);
CREATE INDEX control_run_by_strip_vial ON control_run (strip_vial);
CREATE INDEX control_run_by_control_vial ON control_run (control_vial);
CREATE INDEX comparison_by_strip_vial ON comparison (strip_vial) WHERE strip_vial IS NOT NULL;

-- Sets in which something did not hold at first, of all meters; a set that held at once costs nothing here.
CREATE INDEX set_verdict_not_at_once ON set_verdict (last_at) WHERE attempt > 1 OR verdict NOT IN ('accepted', 'warned');
