-- Run once by the database's administrator, connected to the database that shall hold the registry:
--     psql -d ward -f roles.sql
-- Then give each person's login the role of their work:
--     GRANT meterkeep_record TO nurse_01;        may record what happens on the ward
--     GRANT meterkeep_review TO coordinator_01;  that, and decide about meters, lots, people, policy and months
--     GRANT meterkeep_inspect TO inspector_01;   may read everything, and nothing else but leave their own trace
--     GRANT meterkeep_migrate TO keeper_01;      makes and upgrades the schema; cannot record
DO $$
DECLARE
    name text;
BEGIN
    FOREACH name IN ARRAY ARRAY['meterkeep_record', 'meterkeep_review', 'meterkeep_inspect', 'meterkeep_migrate'] LOOP
        IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = name) THEN
            EXECUTE format('CREATE ROLE %I NOLOGIN', name);
        END IF;
    END LOOP;
    EXECUTE format('GRANT CREATE ON DATABASE %I TO meterkeep_migrate', current_database());
    EXECUTE format('REVOKE CREATE ON SCHEMA public FROM PUBLIC');
END
$$;
GRANT meterkeep_record TO meterkeep_review;
