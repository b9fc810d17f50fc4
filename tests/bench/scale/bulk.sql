-- SPDX-License-Identifier: GPL-3.0-or-later
-- Entries of daily two-level sets, and their index rows, in the shape that the programs write them: for SQLite's own shell, which has generate_series.
-- temp.bulk (meters, from_day, to_day, first) says of how many meters and which days; first is in days since 1970, to_day one past the last. Ids follow
-- the clock as real ones do. Digests are random: reading and appending are measured, not the chain of these entries. Each table is filled in
-- the order of its key.
CREATE TEMP TABLE shape AS SELECT *, (SELECT max(seq) FROM journal) AS head, (meters + 19) / 20 AS wards FROM temp.bulk;
CREATE TEMP TABLE day AS SELECT value AS day, date((first + value) * 86400, 'unixepoch') AS date, (first + value) * 86400000 AS began, CAST(value / 90 AS TEXT) AS quarter,
        CAST(value - value % 2 AS TEXT) AS opened, '{"counted":true,"cusum_high":"0","cusum_low":"0","ewma":"0.0215","n":' || (value + 1) || '}' AS drift,
        head + (value - from_day) * meters * 3 AS before
    FROM shape, generate_series(from_day, to_day - 1);
CREATE TEMP TABLE each_meter AS SELECT value AS i, printf('M-%04d', 1000 + value) AS meter, printf('W%03d', 1 + value % wards) AS ward, (value % wards) * 5 AS nurse,
        printf('T%02d:%02d:00+00:00', minute / 60, minute % 60) AS low_time, printf('T%02d:%02d:00+00:00', (minute + 2) / 60, (minute + 2) % 60) AS high_time, minute * 60000 AS ms
    FROM shape, (SELECT value, 300 + (value * 61 / 60) % 180 AS minute FROM shape, generate_series(0, meters - 1));
CREATE TEMP TABLE level AS SELECT 0 AS kind, 'low' AS level, 'L' AS lot, 46 AS mean, 4 AS sd, 1 AS step, 36 AS low, 56 AS high UNION ALL SELECT 1, 'high', 'H', 305, 18, 4, 263, 347;
-- step of a result: (meter * 7 + day * 3 + kind) % 5 - 2

CREATE TEMP TABLE guard AS SELECT sql FROM sqlite_master WHERE name = 'journal_in_order';
CREATE TEMP TABLE later AS SELECT sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL AND tbl_name IN ('act_key', 'control_run', 'run_verdict', 'set_verdict');
.output FOLDER/later.sql
SELECT sql || ';' FROM guard;
SELECT sql || ';' FROM later;
.output FOLDER/drop.sql
SELECT 'DROP TRIGGER journal_in_order;';
SELECT 'DROP INDEX ' || name || ';' FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL AND tbl_name IN ('act_key', 'control_run', 'run_verdict', 'set_verdict');
.output stdout
.read FOLDER/drop.sql

BEGIN;
INSERT INTO journal SELECT before + i * 3 + kind + 1, printf('%08x-%04x-7%03x-9%03x-%012x', (began + ms + kind) >> 16, (began + ms + kind) & 65535, i % 4096, kind, (i * 2654435761 + day * 40503) % 281474976710656),
        began + ms + 120000, '+00:00', 'ward-desk', 'n' || (nurse + day % 5), CASE kind WHEN 2 THEN 'control.judged' ELSE 'control.run' END, meter,
        CASE kind WHEN 2 THEN '{"attempt":1,"drift":' || drift || ',"first_at":"' || date || low_time || '","last_at":"' || date || high_time
            || '","meter":"' || meter || '","policy":1,"rule_set":2,"runs":['
            || '{"attempt":1,"control_lot":"L' || quarter || '","counted":true,"evaluable":true,"high":"56","in_range":true,"level":"low","low":"36","mean":"46","run":' || (before + i * 3 + 1)
            || ',"sd":"4","stage":"established","strip_lot":"S' || quarter || '","valid":true,"verdict":"accepted","z":"' || printf('%!.17g', ((i * 7 + day * 3) % 5 - 2) / 4.0) || '"},'
            || '{"attempt":1,"control_lot":"H' || quarter || '","counted":true,"evaluable":true,"high":"347","in_range":true,"level":"high","low":"263","mean":"305","run":' || (before + i * 3 + 2)
            || ',"sd":"18","stage":"established","strip_lot":"S' || quarter || '","valid":true,"verdict":"accepted","z":"' || printf('%!.17g', ((i * 7 + day * 3 + 1) % 5 - 2) * 4 / 18.0) || '"}],"set":"'
            || meter || '/' || date || '","verdict":"accepted","ward":"' || ward || '"}'
        ELSE '{"at":"' || date || CASE kind WHEN 0 THEN low_time ELSE high_time END || '","control_vial":"' || CASE kind WHEN 0 THEN 'L' ELSE 'H' END || quarter || '-' || ward
            || '","level":"' || CASE kind WHEN 0 THEN 'low' ELSE 'high' END || '","meter":"' || meter || '","operator":"n' || (nurse + day % 5)
            || '","result":"' || CASE kind WHEN 0 THEN 44 + (i * 7 + day * 3) % 5 ELSE 297 + 4 * ((i * 7 + day * 3 + 1) % 5) END || '","set":"' || meter || '/' || date
            || '","strip_vial":"S' || quarter || '-' || ward || '-' || opened || '","unit":"mg/dL"}' END,
        '0000000000000000000000000000000000000000000000000000000000000000', lower(hex(randomblob(32)))
    FROM day CROSS JOIN each_meter CROSS JOIN (SELECT 0 AS kind UNION ALL SELECT 1 UNION ALL SELECT 2);
COMMIT;
BEGIN;
INSERT INTO control_run (set_id, run_seq, from_seq, at, meter, operator, strip_vial, level, control_vial, result, unit)
    SELECT meter || '/' || date, before + i * 3 + 1 + kind, before + i * 3 + 1 + kind, date || CASE kind WHEN 0 THEN low_time ELSE high_time END, meter, 'n' || (nurse + day % 5),
        'S' || quarter || '-' || ward || '-' || opened, level, lot || quarter || '-' || ward, mean + step * ((i * 7 + day * 3 + kind) % 5 - 2), 'mg/dL'
    FROM each_meter CROSS JOIN day CROSS JOIN level;
COMMIT;
BEGIN;
INSERT INTO run_verdict (set_id, run_seq, from_seq, level, attempt, valid, invalid_because, low, high, mean, sd, stage, in_range, z, evaluable, counted, rules, strip_lot, control_lot, verdict)
    SELECT meter || '/' || date, before + i * 3 + 1 + kind, before + i * 3 + 3, level, 1, 1, '', low, high, mean, sd, 'established', 1,
        step * ((i * 7 + day * 3 + kind) % 5 - 2) / (sd * 1.0), 1, 1, '', 'S' || quarter, lot || quarter, 'accepted'
    FROM each_meter CROSS JOIN day CROSS JOIN level;
COMMIT;
BEGIN;
INSERT INTO set_verdict (meter, last_at, set_id, from_seq, first_at, first_text, last_text, ward, attempt, verdict, rules, shift, segment_start, counted, drift, policy, rule_set)
    SELECT meter, began + ms + 120000, meter || '/' || date, before + i * 3 + 3, began + ms, date || low_time, date || high_time, ward, 1, 'accepted', '', 0, 0, 1, drift, 1, 2
    FROM each_meter CROSS JOIN day;
COMMIT;
BEGIN;
INSERT INTO act_key (file, key, plain_key, from_seq)
    SELECT 'control_runs.csv', meter || '/' || date || '/' || level || '/1', meter || '/' || date || 'T00:00:00/' || level || '/1', before + i * 3 + 1 + kind
    FROM each_meter CROSS JOIN day CROSS JOIN (SELECT * FROM level ORDER BY kind DESC);
COMMIT;
.read FOLDER/later.sql
