-- Ways in: browsers that are signed in, tokens of programs that act for a person, and
-- accounts of a sign-on service. Nothing here opens anything by itself: a token is kept as
-- a hash, and a session is found by a cookie whose token is hashed in the table of sessions.

CREATE TABLE open_session (
    id         uuid        PRIMARY KEY,
    user_id    uuid        NOT NULL REFERENCES app_user (id),
    opened_at  timestamptz NOT NULL,
    seen_at    timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    address    text        NOT NULL,
    device     text        NOT NULL,
    way        text        NOT NULL CHECK (way IN ('password', 'sign_on')),
    ended_at   timestamptz,
    ended_by   text        NOT NULL DEFAULT '' CHECK (ended_by IN ('', 'person', 'administrator', 'password', 'shut'))
);

CREATE INDEX open_session_user_idx ON open_session (user_id) WHERE ended_at IS NULL;

CREATE TABLE api_token (
    id         uuid        PRIMARY KEY,
    user_id    uuid        NOT NULL REFERENCES app_user (id),
    program_id uuid        NOT NULL,
    name       text        NOT NULL CHECK (btrim(name) <> ''),
    hash       bytea       NOT NULL UNIQUE,
    scopes     text[]      NOT NULL CHECK (cardinality(scopes) > 0),
    created_at timestamptz NOT NULL,
    expires_at timestamptz NOT NULL CHECK (expires_at > created_at),
    used_at    timestamptz,
    used_from  text        NOT NULL DEFAULT '',
    revoked_at timestamptz,
    revoked_by text        NOT NULL DEFAULT '' CHECK (revoked_by IN ('', 'person', 'administrator', 'shut'))
);

CREATE INDEX api_token_user_idx ON api_token (user_id);
CREATE INDEX api_token_program_idx ON api_token (program_id);

-- Which account of a sign-on service is which account here. A service never opens an account.
CREATE TABLE sign_on (
    issuer    text        NOT NULL,
    subject   text        NOT NULL,
    user_id   uuid        NOT NULL REFERENCES app_user (id),
    email     text        NOT NULL,
    linked_at timestamptz NOT NULL,
    PRIMARY KEY (issuer, subject)
);

CREATE INDEX sign_on_user_idx ON sign_on (user_id);
