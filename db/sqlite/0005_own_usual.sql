-- A run's score against the meter's own usual value, that value and the base of its lots, percent and the units of the result.
ALTER TABLE run_verdict ADD COLUMN u REAL
-- next
ALTER TABLE run_verdict ADD COLUMN usual REAL
-- next
ALTER TABLE run_verdict ADD COLUMN base REAL
