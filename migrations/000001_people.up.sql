-- People, what they are in each program, and their sessions.
-- Accounts are never deleted: history refers to them. They are disabled.

CREATE TABLE app_user (
    id             uuid        PRIMARY KEY,
    email          text        NOT NULL CHECK (email = btrim(email) AND email LIKE '%_@_%'),
    name           text        NOT NULL CHECK (btrim(name) <> ''),
    password_hash  text        NOT NULL,
    site_admin     boolean     NOT NULL DEFAULT false,
    demo           boolean     NOT NULL DEFAULT false,
    units          text        CHECK (units IN ('us', 'si')),  -- null: as the program shows them
    created_at     timestamptz NOT NULL DEFAULT now(),
    disabled_at    timestamptz,
    failed_logins  integer     NOT NULL DEFAULT 0 CHECK (failed_logins >= 0),
    locked_until   timestamptz,
    -- Raised when a password changes or an account is disabled: a session that
    -- carries an older number is over.
    session_epoch  integer     NOT NULL DEFAULT 1
);

CREATE UNIQUE INDEX app_user_email_key ON app_user (lower(email));

CREATE TABLE membership (
    user_id    uuid        NOT NULL REFERENCES app_user (id),
    program_id uuid        NOT NULL,
    role       text        NOT NULL CHECK (role IN ('administrator', 'engineer', 'designer', 'inspector',
                                                    'contractor', 'laboratory', 'manager')),
    created_at timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (user_id, program_id)
);

CREATE INDEX membership_program_idx ON membership (program_id);

-- Signed-in browsers. The token is stored as a hash, so a copy of this table opens nothing.
CREATE TABLE sessions (
    token  text        PRIMARY KEY,
    data   bytea       NOT NULL,
    expiry timestamptz NOT NULL
);

CREATE INDEX sessions_expiry_idx ON sessions (expiry);
