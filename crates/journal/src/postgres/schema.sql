-- Journals of many laboratories in one database. What stands here is format 1; a later format gets a
-- new number. The role that runs this owns it all, and works in no laboratory.

-- Who does something belongs to one of two roles, which cannot log in themselves.
DO $$ BEGIN CREATE ROLE stonewear_laboratory NOLOGIN;
EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;
DO $$ BEGIN CREATE ROLE stonewear_network NOLOGIN;
EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;

CREATE SCHEMA stonewear;

CREATE TABLE stonewear.format (
    one     boolean PRIMARY KEY DEFAULT true CHECK (one),
    version integer NOT NULL
);
INSERT INTO stonewear.format (version) VALUES (1);

CREATE TABLE stonewear.laboratory (
    laboratory text COLLATE "C" PRIMARY KEY CHECK (laboratory ~ '^[a-z][a-z0-9-]{0,39}$')
);

-- Which role works in which laboratory.
CREATE TABLE stonewear.member (
    laboratory text COLLATE "C" NOT NULL REFERENCES stonewear.laboratory,
    role       name NOT NULL,
    PRIMARY KEY (laboratory, role)
);

-- The facts. `canonical` holds the very bytes that are hashed; the other columns repeat what stands in
-- them, to find entries by, and verifying compares. Keys of requests are bytes, since a text of
-- PostgreSQL holds no zero character, and short enough for their index.
CREATE TABLE stonewear.entry (
    laboratory text COLLATE "C" NOT NULL REFERENCES stonewear.laboratory,
    position   bigint NOT NULL CHECK (position > 0),
    hash       bytea NOT NULL CHECK (hash = sha256(canonical)),
    request    bytea NOT NULL CHECK (octet_length(request) BETWEEN 1 AND 2000),
    canonical  bytea NOT NULL,
    PRIMARY KEY (laboratory, position)
);
CREATE INDEX entry_request ON stonewear.entry (laboratory, request);

-- Where each journal ends, written in the transaction of the entries. Whoever appends locks this row.
CREATE TABLE stonewear.head (
    laboratory text COLLATE "C" PRIMARY KEY REFERENCES stonewear.laboratory,
    position   bigint NOT NULL CHECK (position >= 0),
    hash       bytea NOT NULL CHECK (octet_length(hash) = 32)
);

-- Files that facts name by their SHA-256.
CREATE TABLE stonewear.blob (
    laboratory text COLLATE "C" NOT NULL REFERENCES stonewear.laboratory,
    sha256     bytea NOT NULL CHECK (sha256 = sha256(bytes)),
    bytes      bytea NOT NULL,
    PRIMARY KEY (laboratory, sha256)
);

-- What results say, for questions across laboratories. It follows from the facts, is written in their
-- transaction, and can be made anew from them.
CREATE TABLE stonewear.result (
    laboratory   text COLLATE "C" NOT NULL REFERENCES stonewear.laboratory,
    result       text NOT NULL,
    sample       text NOT NULL,
    source       text NOT NULL,
    material     text NOT NULL,
    method       text NOT NULL,
    grading      text NOT NULL,
    -- The apparatus, and where the reference aggregate comes from; null for other samples.
    apparatus    text,
    reference    text,
    version      integer NOT NULL,
    -- The loss as it is reported, and as it stands on a control chart, to 0.01 %.
    loss_percent numeric,
    charted_percent numeric,
    found_at     timestamptz NOT NULL,
    released_at  timestamptz,
    in_doubt     boolean NOT NULL,
    PRIMARY KEY (laboratory, result)
);
CREATE INDEX result_reference ON stonewear.result (reference) WHERE reference IS NOT NULL;

-- Against slips of a hand at a database prompt, also the owner's. Whoever means harm can drop a trigger;
-- what they do then is found by the chain.
CREATE FUNCTION stonewear.refuse() RETURNS trigger LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp
AS $$ BEGIN RAISE EXCEPTION USING MESSAGE = TG_ARGV[0], ERRCODE = 'integrity_constraint_violation'; END $$;

CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON stonewear.entry
FOR EACH ROW EXECUTE FUNCTION stonewear.refuse('an entry of the journal is never changed');
CREATE TRIGGER entry_is_never_removed BEFORE DELETE ON stonewear.entry
FOR EACH ROW EXECUTE FUNCTION stonewear.refuse('an entry of the journal is never removed');
CREATE TRIGGER entries_are_never_removed BEFORE TRUNCATE ON stonewear.entry
FOR EACH STATEMENT EXECUTE FUNCTION stonewear.refuse('an entry of the journal is never removed');
CREATE TRIGGER head_is_never_removed BEFORE DELETE ON stonewear.head
FOR EACH ROW EXECUTE FUNCTION stonewear.refuse('the head of the journal is never removed');
CREATE TRIGGER heads_are_never_removed BEFORE TRUNCATE ON stonewear.head
FOR EACH STATEMENT EXECUTE FUNCTION stonewear.refuse('the head of the journal is never removed');
CREATE TRIGGER blob_is_never_changed BEFORE UPDATE ON stonewear.blob
FOR EACH ROW EXECUTE FUNCTION stonewear.refuse('a file of the journal is never changed');
CREATE TRIGGER blob_is_never_removed BEFORE DELETE ON stonewear.blob
FOR EACH ROW EXECUTE FUNCTION stonewear.refuse('a file of the journal is never removed');
CREATE TRIGGER blobs_are_never_removed BEFORE TRUNCATE ON stonewear.blob
FOR EACH STATEMENT EXECUTE FUNCTION stonewear.refuse('a file of the journal is never removed');

CREATE FUNCTION stonewear.comes_next() RETURNS trigger LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp
AS $$ BEGIN
    IF NEW.position IS DISTINCT FROM
        (SELECT coalesce(max(e.position), 0) + 1 FROM stonewear.entry e WHERE e.laboratory = NEW.laboratory)
    THEN
        RAISE EXCEPTION USING MESSAGE = 'an entry of the journal stands right behind the last',
            ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER entry_comes_next BEFORE INSERT ON stonewear.entry
FOR EACH ROW EXECUTE FUNCTION stonewear.comes_next();

CREATE FUNCTION stonewear.head_moves() RETURNS trigger LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp
AS $$ BEGIN
    IF NEW.position < OLD.position OR NEW.laboratory <> OLD.laboratory THEN
        RAISE EXCEPTION USING MESSAGE = 'the head of the journal only grows',
            ERRCODE = 'integrity_constraint_violation';
    END IF;
    -- Told when the transaction commits, and not when it does not.
    IF NEW.position > OLD.position THEN
        PERFORM pg_notify('stonewear_' || NEW.laboratory, NEW.position::text);
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER head_moves BEFORE UPDATE ON stonewear.head
FOR EACH ROW EXECUTE FUNCTION stonewear.head_moves();

-- The laboratory of the session, if its role works there.
CREATE FUNCTION stonewear.here() RETURNS text LANGUAGE sql STABLE SET search_path = pg_catalog, pg_temp
AS $$ SELECT m.laboratory FROM stonewear.member m
    WHERE m.laboratory = current_setting('stonewear.laboratory', true) AND m.role = current_user $$;

GRANT USAGE ON SCHEMA stonewear TO stonewear_laboratory, stonewear_network;
GRANT SELECT ON ALL TABLES IN SCHEMA stonewear TO stonewear_laboratory, stonewear_network;
GRANT INSERT ON stonewear.entry, stonewear.blob, stonewear.result TO stonewear_laboratory;
GRANT UPDATE (position, hash) ON stonewear.head TO stonewear_laboratory;
GRANT UPDATE ON stonewear.result TO stonewear_laboratory;

-- Each laboratory sees and writes its own rows; the network sees all and writes none; the owner admits
-- laboratories and sees no fact. Forced, so that the owner of a table is held, too.
ALTER TABLE stonewear.laboratory ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE stonewear.member ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE stonewear.entry ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE stonewear.head ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE stonewear.blob ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE stonewear.result ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY own ON stonewear.member FOR SELECT TO stonewear_laboratory USING (role = current_user);
CREATE POLICY own ON stonewear.laboratory FOR SELECT TO stonewear_laboratory
USING (laboratory = (SELECT stonewear.here()));
CREATE POLICY own ON stonewear.entry TO stonewear_laboratory
USING (laboratory = (SELECT stonewear.here())) WITH CHECK (laboratory = (SELECT stonewear.here()));
CREATE POLICY own ON stonewear.head TO stonewear_laboratory
USING (laboratory = (SELECT stonewear.here())) WITH CHECK (laboratory = (SELECT stonewear.here()));
CREATE POLICY own ON stonewear.blob TO stonewear_laboratory
USING (laboratory = (SELECT stonewear.here())) WITH CHECK (laboratory = (SELECT stonewear.here()));
CREATE POLICY own ON stonewear.result TO stonewear_laboratory
USING (laboratory = (SELECT stonewear.here())) WITH CHECK (laboratory = (SELECT stonewear.here()));

CREATE POLICY network ON stonewear.member FOR SELECT TO stonewear_network USING (true);
CREATE POLICY network ON stonewear.laboratory FOR SELECT TO stonewear_network USING (true);
CREATE POLICY network ON stonewear.entry FOR SELECT TO stonewear_network USING (true);
CREATE POLICY network ON stonewear.head FOR SELECT TO stonewear_network USING (true);
CREATE POLICY network ON stonewear.blob FOR SELECT TO stonewear_network USING (true);
CREATE POLICY network ON stonewear.result FOR SELECT TO stonewear_network USING (true);

CREATE POLICY owner ON stonewear.laboratory TO CURRENT_USER USING (true) WITH CHECK (true);
CREATE POLICY owner ON stonewear.member TO CURRENT_USER USING (true) WITH CHECK (true);
CREATE POLICY owner ON stonewear.head FOR INSERT TO CURRENT_USER WITH CHECK (position = 0);
