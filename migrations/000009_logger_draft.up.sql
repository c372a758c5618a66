-- Files of loggers that were sent and wait until somebody confirms how their columns are read. No part of the record:
-- rows go after a day. A file may be large, so it lies here in pieces.
create table logger_draft (
    id         uuid primary key,
    program_id uuid not null references program (id),
    user_id    uuid not null references app_user (id),
    pour       int not null,               -- number of the casting it was sent for
    created_at timestamptz not null,
    name       text not null,
    sha256     text not null default '',   -- of the file as it came
    size       bigint not null default 0
);
create index logger_draft_user on logger_draft (program_id, user_id, created_at);
create table logger_draft_piece (
    draft_id uuid not null references logger_draft (id) on delete cascade,
    piece    int not null check (piece >= 0),
    bytes    bytea not null,
    primary key (draft_id, piece)
);
