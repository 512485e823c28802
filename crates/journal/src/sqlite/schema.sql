-- The journal in one SQLite file. What stands here is format 1; a later format gets a new number.

-- The facts. `canonical` holds the very bytes that are hashed; the other columns repeat what
-- stands in them, to find entries by, and verifying compares.
CREATE TABLE entry (
    position  INTEGER PRIMARY KEY CHECK (position > 0),
    hash      BLOB NOT NULL CHECK (length(hash) = 32),
    request   TEXT NOT NULL,
    canonical BLOB NOT NULL
) STRICT;

CREATE INDEX entry_request ON entry (request);

-- Where the journal ends, written in the transaction of the entries: without it a cut tail would
-- look like a shorter journal.
CREATE TABLE head (
    only     INTEGER PRIMARY KEY CHECK (only = 1),
    position INTEGER NOT NULL,
    hash     BLOB NOT NULL CHECK (length(hash) = 32)
) STRICT;

-- Files that facts name by their SHA-256.
CREATE TABLE blob (
    sha256 BLOB PRIMARY KEY CHECK (length(sha256) = 32),
    bytes  BLOB NOT NULL
) STRICT;

-- Against slips of a hand at a database prompt. Whoever means harm can drop a trigger; what they
-- do then is found by the chain.
CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'an entry of the journal is never changed'); END;

CREATE TRIGGER entry_is_never_removed BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'an entry of the journal is never removed'); END;

-- Also refuses REPLACE, which removes a row without asking the trigger above.
CREATE TRIGGER entry_comes_next BEFORE INSERT ON entry
WHEN NEW.position IS NOT (SELECT ifnull(max(position), 0) + 1 FROM entry)
BEGIN SELECT RAISE(ABORT, 'an entry of the journal stands right behind the last'); END;

CREATE TRIGGER head_only_grows BEFORE UPDATE ON head
WHEN NEW.position < OLD.position
BEGIN SELECT RAISE(ABORT, 'the head of the journal only grows'); END;

CREATE TRIGGER head_is_never_removed BEFORE DELETE ON head
BEGIN SELECT RAISE(ABORT, 'the head of the journal is never removed'); END;

CREATE TRIGGER head_is_one BEFORE INSERT ON head
WHEN EXISTS (SELECT 1 FROM head)
BEGIN SELECT RAISE(ABORT, 'a journal has one head'); END;

CREATE TRIGGER blob_is_never_changed BEFORE UPDATE ON blob
BEGIN SELECT RAISE(ABORT, 'a file of the journal is never changed'); END;

CREATE TRIGGER blob_is_never_removed BEFORE DELETE ON blob
BEGIN SELECT RAISE(ABORT, 'a file of the journal is never removed'); END;

-- The same bytes again: nothing to do.
CREATE TRIGGER blob_is_kept_once BEFORE INSERT ON blob
WHEN EXISTS (SELECT 1 FROM blob WHERE sha256 = NEW.sha256)
BEGIN SELECT RAISE(IGNORE); END;
