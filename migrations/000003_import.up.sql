-- What was typed for every quantity that a table of an import brings, so that an export gives it back as it was typed.
alter table support add column typed jsonb not null default '{}';
alter table span add column typed jsonb not null default '{}';
alter table reading
    add column typed_x text not null default '',
    add column typed_z text not null default '',
    add column reason text not null default '';   -- why there was no access
alter table hole add column typed jsonb not null default '{}';

-- Files that were read and found good, kept until somebody puts them on record. No part of the record itself: rows go
-- after a day.
create table import_draft (
    id          uuid primary key,          -- also that of the entry that puts it on record
    program_id  uuid not null references program (id),
    user_id     uuid not null references app_user (id),
    created_at  timestamptz not null,
    sha256      text not null check (sha256 ~ '^[0-9a-f]{64}$'),   -- of bytes
    bytes       bytea not null,            -- of the files, one after the other
    options     jsonb not null             -- units, and name and length of each file
);
create index import_draft_age on import_draft (created_at);
create index import_draft_user on import_draft (program_id, user_id, created_at);
