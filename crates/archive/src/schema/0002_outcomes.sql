-- What the ball and the club did, from other instruments. SI, with the figure as it was given.
CREATE TABLE outcome (
    swing INTEGER NOT NULL REFERENCES swing ON DELETE CASCADE,
    name TEXT NOT NULL,
    value REAL NOT NULL,
    unit TEXT NOT NULL,
    given TEXT NOT NULL,
    source TEXT NOT NULL,
    PRIMARY KEY (swing, name)
) STRICT, WITHOUT ROWID;
CREATE INDEX outcome_name ON outcome (name, swing);

-- What watching a folder has seen: a file that is unchanged is not read again. Not kept when a study is exported.
CREATE TABLE watched (
    path TEXT PRIMARY KEY,
    bytes INTEGER NOT NULL,
    modified TEXT NOT NULL,
    state TEXT NOT NULL,                      -- "kept", or why not
    swing INTEGER REFERENCES swing ON DELETE CASCADE,
    session INTEGER REFERENCES session ON DELETE CASCADE,  -- where it was not taken in: by which session it was tried
    tried TEXT                                -- and with what; with something else it is worth another look
) STRICT, WITHOUT ROWID;

-- What is to be done once a change is made, and is done when the study is next opened where a crash came between.
-- 'vacuum': a player was deleted; pages and log of this file are yet to be written anew.
-- 'catch-up': an edit has made swings out of date; they are yet to be measured again.
CREATE TABLE pending (
    what TEXT PRIMARY KEY
) STRICT, WITHOUT ROWID;
CREATE INDEX watched_of_swing ON watched (swing);
CREATE INDEX watched_of_session ON watched (session);
