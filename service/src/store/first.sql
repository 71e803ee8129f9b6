-- The first version of the store. What is here is never changed: a later version is a further migration.

-- Who asks, and when work of theirs was last taken up: a count, so that whoever waits longest is next.
CREATE TABLE client (
    name TEXT NOT NULL PRIMARY KEY,
    served INTEGER NOT NULL DEFAULT 0
) WITHOUT ROWID;

CREATE TABLE batch (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    client TEXT NOT NULL,
    -- The Idempotency-Key that it was sent with, and the hash of what was sent.
    idempotency_key TEXT,
    body BLOB NOT NULL,
    name TEXT NOT NULL,
    -- Kits, each once for each of its hoop sets; their copies; the different questions.
    rows INTEGER NOT NULL,
    copies INTEGER NOT NULL,
    questions INTEGER NOT NULL,
    -- Questions that have ended, and those among them that have a plan.
    ended INTEGER NOT NULL DEFAULT 0,
    planned INTEGER NOT NULL DEFAULT 0,
    -- open: questions are left; adding: they are added up; then finished, or cancelled.
    state TEXT NOT NULL CHECK (state IN ('open', 'adding', 'finished', 'cancelled')),
    claimed INTEGER NOT NULL DEFAULT 0,
    served INTEGER NOT NULL DEFAULT 0,
    -- Seconds since 1970-01-01T00:00:00Z.
    accepted INTEGER NOT NULL,
    closed INTEGER,
    -- Totals and order list, once they are added up (JSON).
    summary TEXT
);
CREATE UNIQUE INDEX batch_by_key ON batch (client, idempotency_key) WHERE idempotency_key IS NOT NULL;
CREATE INDEX batch_open ON batch (client) WHERE closed IS NULL;
CREATE INDEX batch_closed ON batch (closed) WHERE closed IS NOT NULL;

CREATE TABLE question (
    batch INTEGER NOT NULL REFERENCES batch (number) ON DELETE CASCADE,
    number INTEGER NOT NULL,
    scenario TEXT NOT NULL,
    copies INTEGER NOT NULL,
    claimed INTEGER NOT NULL DEFAULT 0,
    -- Its place in the order in which questions ended, from 1; none while it has not.
    place INTEGER,
    -- How it ended, without the plan (JSON), and the plan where there is one (JSON).
    outcome TEXT,
    plan TEXT,
    PRIMARY KEY (batch, number)
);
CREATE INDEX question_waiting ON question (batch, number) WHERE place IS NULL AND claimed = 0;
CREATE UNIQUE INDEX question_by_place ON question (batch, place) WHERE place IS NOT NULL;

CREATE TABLE kit (
    batch INTEGER NOT NULL REFERENCES batch (number) ON DELETE CASCADE,
    number INTEGER NOT NULL,
    id TEXT NOT NULL,
    hoop_set TEXT,
    copies INTEGER NOT NULL,
    labels TEXT NOT NULL,
    question INTEGER NOT NULL,
    PRIMARY KEY (batch, number)
) WITHOUT ROWID;

-- Plans that took longer than their client waited for.
CREATE TABLE late_plan (
    id TEXT NOT NULL PRIMARY KEY,
    client TEXT NOT NULL,
    -- The options (JSON) and the text that was sent.
    told TEXT NOT NULL,
    scenario BLOB NOT NULL,
    claimed INTEGER NOT NULL DEFAULT 1,
    accepted INTEGER NOT NULL,
    closed INTEGER,
    -- The plan, or the problem, that it ended with.
    plan BLOB,
    problem TEXT
);
CREATE INDEX late_waiting ON late_plan (accepted) WHERE closed IS NULL AND claimed = 0;
CREATE INDEX late_open ON late_plan (client) WHERE closed IS NULL;
CREATE INDEX late_closed ON late_plan (closed) WHERE closed IS NOT NULL;
