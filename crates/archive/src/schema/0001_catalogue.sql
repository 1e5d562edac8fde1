-- Who, with what, when; which recordings; what was made of them; who changed what. Times are UTC, ISO 8601; dates are
-- ISO 8601; everything measured is SI. Personal names live in `identity` alone.

CREATE TABLE player (
    id INTEGER PRIMARY KEY,
    alias TEXT NOT NULL,
    alias_key TEXT NOT NULL UNIQUE,           -- lower case, so that P03 and p03 are one player
    hand TEXT CHECK (hand IN ('right', 'left')),
    sex TEXT,
    handicap REAL,
    born INTEGER,                             -- year
    note TEXT NOT NULL DEFAULT '',
    consent_on TEXT,                          -- when the player agreed
    consent_to TEXT NOT NULL DEFAULT '',      -- to what, in the practice's words
    keep_until TEXT,                          -- after this day the player is due for deletion
    added_at TEXT NOT NULL
) STRICT;

CREATE TABLE identity (
    player INTEGER PRIMARY KEY REFERENCES player ON DELETE CASCADE,
    name TEXT NOT NULL,
    contact TEXT NOT NULL DEFAULT ''
) STRICT;

CREATE TABLE rig (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    note TEXT NOT NULL DEFAULT ''
) STRICT;

-- A rig file as it was given. Of a rig's versions, a session takes the newest of those with the latest `from_date` that is
-- not after the session's own date.
CREATE TABLE rig_version (
    id INTEGER PRIMARY KEY,
    rig INTEGER NOT NULL REFERENCES rig ON DELETE CASCADE,
    version INTEGER NOT NULL,
    from_date TEXT NOT NULL DEFAULT '',       -- '' is since ever
    text TEXT NOT NULL,
    hash TEXT NOT NULL,
    added_at TEXT NOT NULL,
    UNIQUE (rig, version)
) STRICT;

CREATE TABLE session (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    player INTEGER NOT NULL REFERENCES player ON DELETE CASCADE,
    date TEXT,
    rig INTEGER REFERENCES rig,
    target TEXT,                              -- as --target takes it; else the rig's
    mass_kg REAL,
    club_marker TEXT,
    place TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    added_at TEXT NOT NULL
) STRICT;
CREATE INDEX session_of_player ON session (player, date);
CREATE INDEX session_of_day ON session (date);
CREATE INDEX session_of_rig ON session (rig);

CREATE TABLE swing (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    session INTEGER NOT NULL REFERENCES session ON DELETE CASCADE,
    number INTEGER NOT NULL,                  -- within the session, from 1
    hash TEXT NOT NULL UNIQUE,                -- SHA-256 of the original: the same bytes are the same swing
    ending TEXT NOT NULL,
    bytes INTEGER NOT NULL,
    name TEXT NOT NULL,                       -- the file's name when it came in
    file_time TEXT,                           -- the file's own time of change when it came in
    recorded_at TEXT,                         -- stated by a pattern or a manifest
    club TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    imported_at TEXT NOT NULL,
    folders TEXT NOT NULL DEFAULT '',         -- the last folders that the file lay in when it came in
    UNIQUE (session, number)
) STRICT;
CREATE INDEX swing_of_club ON swing (club);

CREATE TABLE tag (
    swing INTEGER NOT NULL REFERENCES swing ON DELETE CASCADE,
    word TEXT NOT NULL,
    PRIMARY KEY (swing, word)
) STRICT, WITHOUT ROWID;
CREATE INDEX tag_word ON tag (word);

-- Events placed by hand, in seconds of the recording's own time.
CREATE TABLE mark (
    swing INTEGER NOT NULL REFERENCES swing ON DELETE CASCADE,
    event TEXT NOT NULL CHECK (event IN ('address', 'takeaway', 'top', 'impact', 'finish')),
    time_s REAL NOT NULL,
    u_s REAL,                                 -- standard uncertainty; NULL: the usual
    PRIMARY KEY (swing, event)
) STRICT, WITHOUT ROWID;

-- How a swing is looked at: with its plates as they were, or put together as one; about which point.
CREATE TABLE basis (
    id INTEGER PRIMARY KEY,
    collapse INTEGER NOT NULL CHECK (collapse IN (0, 1)),
    about TEXT NOT NULL,
    UNIQUE (collapse, about)
) STRICT;

-- Which program and which edition of its methods made a result.
CREATE TABLE maker (
    id INTEGER PRIMARY KEY,
    program TEXT NOT NULL,
    methods TEXT NOT NULL,
    UNIQUE (program, methods)
) STRICT;

-- What a person decided for a measurement, as one text; its hash stands in every result.
CREATE TABLE recipe (
    id INTEGER PRIMARY KEY,
    hash TEXT NOT NULL UNIQUE,
    text TEXT NOT NULL
) STRICT;

CREATE TABLE measurement (
    basis INTEGER NOT NULL REFERENCES basis,
    swing INTEGER NOT NULL REFERENCES swing ON DELETE CASCADE,
    recipe INTEGER NOT NULL REFERENCES recipe,
    rig_version INTEGER REFERENCES rig_version,
    maker INTEGER NOT NULL REFERENCES maker,
    measured_at TEXT NOT NULL,
    failed TEXT,                              -- why nothing could be measured
    feet INTEGER,                             -- 2: each foot has its accounts; 1: net accounts only
    plates INTEGER,                           -- plates that carried a foot
    hand TEXT,
    body_weight_n REAL,
    body_weight_from TEXT,
    rate_hz REAL,
    samples INTEGER,
    start_s REAL,
    conditioning TEXT,
    stops INTEGER NOT NULL,
    doubts INTEGER NOT NULL,
    notes INTEGER NOT NULL,
    figures INTEGER NOT NULL,                 -- rows it has in `figure`
    series TEXT,                              -- name of its file in derived/
    series_hash TEXT,
    seal TEXT,                                -- SHA-256 over all that was made of the swing
    PRIMARY KEY (basis, swing)
) STRICT, WITHOUT ROWID;
CREATE INDEX measurement_of_swing ON measurement (swing);
CREATE INDEX measurement_of_rig_version ON measurement (rig_version);

CREATE TABLE event (
    basis INTEGER NOT NULL,
    swing INTEGER NOT NULL,
    event TEXT NOT NULL,
    time_s REAL NOT NULL,
    u_s REAL NOT NULL,
    source TEXT NOT NULL,
    method TEXT NOT NULL,
    seen TEXT NOT NULL,
    PRIMARY KEY (basis, swing, event),
    FOREIGN KEY (basis, swing) REFERENCES measurement ON DELETE CASCADE
) STRICT, WITHOUT ROWID;

CREATE TABLE finding (
    basis INTEGER NOT NULL,
    swing INTEGER NOT NULL,
    number INTEGER NOT NULL,
    code TEXT NOT NULL,
    severity TEXT NOT NULL,
    plate INTEGER,                            -- from 1
    from_s REAL,
    to_s REAL,
    seen TEXT NOT NULL,
    remedy TEXT NOT NULL,
    PRIMARY KEY (basis, swing, number),
    FOREIGN KEY (basis, swing) REFERENCES measurement ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
CREATE INDEX finding_code ON finding (code, basis, swing);

CREATE TABLE metric (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    label TEXT NOT NULL,
    unit TEXT NOT NULL
) STRICT;

-- Sentences and codes that many figures share.
CREATE TABLE phrase (
    id INTEGER PRIMARY KEY,
    text TEXT NOT NULL UNIQUE
) STRICT;

-- One row a metric and swing, laid out so that one metric of all swings is one stretch of the file. No foreign key to the
-- measurement: its check would need a second index as large as the table; the archive removes them together, and
-- `study verify` counts them.
CREATE TABLE figure (
    metric INTEGER NOT NULL,
    basis INTEGER NOT NULL,
    swing INTEGER NOT NULL,
    value REAL,                               -- SI; NULL where absent
    u REAL,                                   -- standard uncertainty
    by_weight REAL,                           -- the same over body weight, where there is such a figure
    by_weight_u REAL,
    at_s REAL,
    led_by INTEGER,
    led_share REAL,
    estimated INTEGER,
    touched INTEGER,                          -- phrase: codes of the findings that put it in doubt
    absent INTEGER,                           -- phrase: why there is none
    PRIMARY KEY (metric, basis, swing)
) STRICT, WITHOUT ROWID;

-- Everything that was changed, in order. Goes with the player it is about.
CREATE TABLE change (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    program TEXT NOT NULL,
    what TEXT NOT NULL,
    player INTEGER REFERENCES player ON DELETE CASCADE,
    session INTEGER,
    swing INTEGER,
    before TEXT,
    after TEXT
) STRICT;
CREATE INDEX change_of_player ON change (player);
CREATE INDEX change_of_swing ON change (swing);

-- Files that are to be removed, written in the transaction that lets go of them: what a crash leaves is finished later.
CREATE TABLE removal (
    path TEXT PRIMARY KEY                     -- relative to the study
) STRICT, WITHOUT ROWID;
