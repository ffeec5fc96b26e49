"""The journal's tables, one migration after another. A migration that was ever released is never changed."""

MIGRATIONS = (
    # 1: the first journal
    """
    CREATE TABLE boards (
        id INTEGER PRIMARY KEY,
        serial TEXT NOT NULL UNIQUE,
        model TEXT NOT NULL,
        firmware TEXT NOT NULL,
        first_seen_utc_ms INTEGER NOT NULL,
        last_seen_utc_ms INTEGER NOT NULL,
        -- A board whose flash was wiped counts its boots from the start again: another life, told by going backwards.
        life INTEGER NOT NULL DEFAULT 1
    ) STRICT;

    -- number is what a person calls the roast; AUTOINCREMENT never gives one out twice.
    CREATE TABLE roasts (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        board_id INTEGER NOT NULL REFERENCES boards(id),
        life INTEGER NOT NULL,
        boot INTEGER NOT NULL,
        uptime_ms INTEGER NOT NULL,
        file_name TEXT NOT NULL,
        raw BLOB NOT NULL,
        pulled_utc_ms INTEGER NOT NULL,
        head_utc_ms INTEGER,
        when_kind TEXT NOT NULL CHECK (when_kind IN ('exact', 'bounded', 'unknown')),
        when_from_utc_ms INTEGER,
        when_to_utc_ms INTEGER,
        plan_name TEXT NOT NULL,
        method TEXT NOT NULL,
        log_ms INTEGER NOT NULL,
        roast_ms INTEGER,
        end_centi INTEGER,
        peak_centi INTEGER,
        marks TEXT NOT NULL,
        state TEXT NOT NULL CHECK (state IN ('complete', 'interrupted', 'tripped', 'running')),
        trip TEXT,
        problems TEXT NOT NULL,
        UNIQUE (board_id, boot, uptime_ms)
    ) STRICT;

    CREATE INDEX roasts_by_file ON roasts (board_id, file_name);

    CREATE TABLE clock_anchors (
        id INTEGER PRIMARY KEY,
        board_id INTEGER NOT NULL REFERENCES boards(id),
        life INTEGER NOT NULL,
        boot INTEGER NOT NULL,
        uptime_ms INTEGER NOT NULL,
        utc_ms INTEGER NOT NULL
    ) STRICT;

    -- The text of a plan file, comments and all, by the SHA-256 of the JSON that was sent for it.
    CREATE TABLE plan_texts (
        fingerprint TEXT PRIMARY KEY,
        text TEXT NOT NULL,
        kept_utc_ms INTEGER NOT NULL
    ) STRICT;
    """,
)
