-- Roles for a rig log on a PostgreSQL server: one that owns it, one that may only read it and add to it.
--
-- Run it as a superuser in the database of the log, before the log is made or after; a second run changes nothing:
--
--     createdb --encoding=UTF8 --template=template0 rigging
--     psql -d rigging -f postgresql-roles.sql
--     psql -d rigging -c '\password rigging_owner'
--     psql -d rigging -c '\password rigging_writer'
--
-- Then make the log once as rigging_owner, and keep that password away from the benches. Every bench opens the log as
-- rigging_writer: postgresql://rigging_writer@HOST/rigging. To that user the server itself refuses UPDATE, DELETE,
-- TRUNCATE, DROP, ALTER, and to switch a trigger off. The owner and superusers could switch triggers off; what they then
-- change, the hash chain and a head hash on paper still show.

DO $$
BEGIN
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'rigging_owner') THEN
        CREATE ROLE rigging_owner LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOREPLICATION;
    END IF;
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'rigging_writer') THEN
        CREATE ROLE rigging_writer LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOREPLICATION;
    END IF;

    -- nobody else makes tables or temporary tables here, and nobody else comes in
    EXECUTE format('REVOKE ALL ON DATABASE %I FROM PUBLIC', current_database());
    EXECUTE format('GRANT CONNECT ON DATABASE %I TO rigging_owner, rigging_writer', current_database());
END $$;

REVOKE ALL ON SCHEMA public FROM PUBLIC;
GRANT USAGE, CREATE ON SCHEMA public TO rigging_owner;
GRANT USAGE ON SCHEMA public TO rigging_writer;

-- what the owner will make here may be read and added to, and no more (that the version of a log is written once, the
-- log's own index sees to)
ALTER DEFAULT PRIVILEGES FOR ROLE rigging_owner IN SCHEMA public GRANT SELECT, INSERT ON TABLES TO rigging_writer;

-- a log that is there already
DO $$
DECLARE
    present text;
BEGIN
    FOREACH present IN ARRAY ARRAY['entries', 'rig_log'] LOOP
        IF to_regclass('public.' || present) IS NOT NULL THEN
            EXECUTE format('ALTER TABLE public.%I OWNER TO rigging_owner', present);
            EXECUTE format('REVOKE ALL ON public.%I FROM PUBLIC, rigging_writer', present);
            EXECUTE format('GRANT SELECT, INSERT ON public.%I TO rigging_writer', present);
        END IF;
    END LOOP;
    FOREACH present IN ARRAY ARRAY['rig_log_refuse', 'rig_log_in_turn'] LOOP
        IF to_regproc('public.' || present) IS NOT NULL THEN
            EXECUTE format('ALTER FUNCTION public.%I() OWNER TO rigging_owner', present);
        END IF;
    END LOOP;
END $$;
