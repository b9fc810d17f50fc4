-- What a person waits for may not read a whole table, however long the history. The runs of one meter and
-- of one vial, and the comparisons with it:
CREATE INDEX control_run_by_meter ON control_run (meter)
-- next
CREATE INDEX control_run_by_strip_vial ON control_run (strip_vial)
-- next
CREATE INDEX control_run_by_control_vial ON control_run (control_vial)
-- next
CREATE INDEX comparison_by_strip_vial ON comparison (strip_vial) WHERE strip_vial IS NOT NULL
-- next
-- Sets in which something did not hold at first, of all meters; a set that held at once costs nothing here.
CREATE INDEX set_verdict_not_at_once ON set_verdict (last_at) WHERE attempt > 1 OR verdict NOT IN ('accepted', 'warned')
