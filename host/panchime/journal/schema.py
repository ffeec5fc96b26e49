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
    # 2: the person's own records
    """
    -- What a person settles once: prices, cup, windows. The value is JSON.
    CREATE TABLE settings (
        name TEXT PRIMARY KEY,
        value TEXT NOT NULL
    ) STRICT;

    CREATE TABLE green_lots (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        name TEXT NOT NULL UNIQUE,
        origin TEXT,
        process TEXT,
        crop TEXT,
        bought_day TEXT,
        bought_mg INTEGER,
        price TEXT,
        moisture_percent REAL,
        density_g_per_l REAL,
        note TEXT,
        finished_utc_ms INTEGER
    ) STRICT;

    -- Beside what the board recorded, never in its place.
    CREATE TABLE roast_records (
        roast_number INTEGER PRIMARY KEY REFERENCES roasts(number),
        lot_id INTEGER REFERENCES green_lots(id),
        green_mg INTEGER,
        roasted_mg INTEGER,
        degree TEXT,
        day_temperature_centi INTEGER,
        said_when TEXT,
        said_from_utc_ms INTEGER,
        said_to_utc_ms INTEGER,
        fuel_price TEXT
    ) STRICT;

    CREATE TABLE notes (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        roast_number INTEGER NOT NULL REFERENCES roasts(number),
        text TEXT NOT NULL,
        written_utc_ms INTEGER NOT NULL
    ) STRICT;

    -- The photo itself, so that one file holds everything and a copy of it is whole.
    CREATE TABLE photos (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        roast_number INTEGER NOT NULL REFERENCES roasts(number),
        name TEXT NOT NULL,
        media_type TEXT NOT NULL,
        raw BLOB NOT NULL,
        kept_utc_ms INTEGER NOT NULL
    ) STRICT;

    CREATE TABLE tastings (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        roast_number INTEGER NOT NULL REFERENCES roasts(number),
        day TEXT NOT NULL,
        words TEXT NOT NULL,
        scores TEXT NOT NULL,
        written_utc_ms INTEGER NOT NULL
    ) STRICT;

    -- t_ms NULL: the person struck the mark out.
    CREATE TABLE mark_corrections (
        roast_number INTEGER NOT NULL REFERENCES roasts(number),
        name TEXT NOT NULL,
        t_ms INTEGER,
        written_utc_ms INTEGER NOT NULL,
        PRIMARY KEY (roast_number, name)
    ) STRICT;

    CREATE TABLE roasted_uses (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        roast_number INTEGER NOT NULL REFERENCES roasts(number),
        used_mg INTEGER NOT NULL,
        used_utc_ms INTEGER NOT NULL
    ) STRICT;

    -- The file that an imported roast was written from, byte for byte.
    CREATE TABLE imported_files (
        roast_number INTEGER PRIMARY KEY REFERENCES roasts(number),
        name TEXT NOT NULL,
        raw BLOB NOT NULL,
        sha256 TEXT NOT NULL UNIQUE,
        imported_utc_ms INTEGER NOT NULL
    ) STRICT;
    """,
    # 3: a checksum of what was kept, so that damage of the journal's own file shows
    """
    -- CRC-32 as the board gives it; the function is the program's own.
    ALTER TABLE roasts ADD COLUMN raw_crc32 INTEGER;

    UPDATE roasts SET raw_crc32 = crc32(raw);
    """,
    # 4: the unit of a roast's plan, in which lists tell its temperatures; quick ways to a roast's records, and to the roasts
    # whose moment is not certain yet
    """
    -- The function is the program's own: it reads the head of a log.
    ALTER TABLE roasts ADD COLUMN unit TEXT NOT NULL DEFAULT 'C' CHECK (unit IN ('C', 'F'));

    UPDATE roasts SET unit = plan_unit(raw);

    CREATE INDEX roasts_not_placed ON roasts (board_id, life) WHERE when_kind != 'exact';
    CREATE INDEX records_by_lot ON roast_records (lot_id);
    CREATE INDEX notes_by_roast ON notes (roast_number);
    CREATE INDEX photos_by_roast ON photos (roast_number);
    CREATE INDEX tastings_by_roast ON tastings (roast_number);
    CREATE INDEX uses_by_roast ON roasted_uses (roast_number);
    """,
)
