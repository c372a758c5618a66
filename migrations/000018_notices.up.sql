-- What a person wants to be told of, on the page and by mail. Somebody not listed is told of
-- everything on the page and of nothing by mail.
CREATE TABLE notice_choice (
    user_id   uuid        PRIMARY KEY REFERENCES app_user (id),
    app       text[]      NOT NULL,
    mail      text[]      NOT NULL,
    chosen_at timestamptz NOT NULL
);

-- Digests: one a person a day at most. A row without a subject is a day with nothing to
-- tell. A letter is written before it is sent, so that no restart loses it.
CREATE TABLE letter (
    id       uuid        PRIMARY KEY,
    user_id  uuid        NOT NULL REFERENCES app_user (id),
    day      date        NOT NULL,
    address  text        NOT NULL,
    subject  text        NOT NULL,
    body     text        NOT NULL,
    made_at  timestamptz NOT NULL,
    next_at  timestamptz NOT NULL,
    tries    int         NOT NULL DEFAULT 0,
    failure  text        NOT NULL DEFAULT '',
    sent_at  timestamptz,
    ended_at timestamptz,          -- given up, or nothing to tell
    UNIQUE (user_id, day)
);
CREATE INDEX letter_open ON letter (next_at) WHERE sent_at IS NULL AND ended_at IS NULL;
