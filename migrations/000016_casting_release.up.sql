-- One line of a step's tick list at an end: who said that it is so, or no longer is.
create table step_tick (
    id          uuid primary key,
    end_id      uuid not null references girder_end (id),
    step_id     uuid not null references step (id),
    line        text not null,
    done        boolean not null,
    note        text not null default '',
    by_user     uuid not null references app_user (id),
    by_name     text not null,
    by_role     text not null,
    captured_at timestamptz not null,
    arrived_at  timestamptz not null
);
create index step_tick_end on step_tick (end_id);

-- The release of an end for casting, decided by a named person on the list of that hour.
create table release_decision (
    id       uuid primary key,
    end_id   uuid not null references girder_end (id),
    step_id  uuid not null references step (id),
    decision text not null check (decision in ('released', 'refused')),
    evidence jsonb not null default '[]',
    digest   text not null,
    reasons  text not null default '',
    meaning  text not null,
    by_user  uuid not null references app_user (id),
    by_name  text not null,
    by_role  text not null,
    at       timestamptz not null
);
create index release_decision_end on release_decision (end_id);
