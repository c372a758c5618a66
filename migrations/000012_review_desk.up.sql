-- What a decision on a design was made on, line by line; empty for those of before.
alter table review add column stands_on jsonb not null default '[]';

-- What an approval as noted asks for.
create table review_note (
    id        uuid primary key,
    end_id    uuid not null references girder_end (id),
    design_id uuid not null references design (id),
    review_id uuid not null references review (id),
    number    int not null check (number > 0),
    note      text not null check (note <> ''),
    unique (review_id, number)
);
create index review_note_end on review_note (end_id);

-- Questions on a revision; none is altered or removed.
create table review_question (
    id        uuid primary key,
    end_id    uuid not null references girder_end (id),
    design_id uuid not null references design (id),
    number    int not null check (number > 0),
    question  text not null check (question <> ''),
    face      text not null default '' check (face in ('', 'L', 'R')),
    x_mm      double precision,
    z_mm      double precision,
    line      text not null default '',
    holds     boolean not null default false,
    typed     jsonb not null default '{}',
    by_user   uuid not null references app_user (id),
    by_name   text not null,
    by_role   text not null,
    at        timestamptz not null,
    unique (end_id, number),
    check ((x_mm is null) = (z_mm is null)),
    check (x_mm is null or line = '')
);

-- What was said after a question: the last one says where it stands.
create table review_answer (
    id          uuid primary key,
    end_id      uuid not null references girder_end (id),
    question_id uuid not null references review_question (id),
    kind        text not null check (kind in ('answer', 'again', 'withdrawn')),
    answer      text not null check (answer <> ''),
    by_user     uuid not null references app_user (id),
    by_name     text not null,
    by_role     text not null,
    at          timestamptz not null
);
create index review_answer_end on review_answer (end_id);

alter table end_state
    add column stale        text not null default '' check (stale in ('', 'confirms', 'look', 'stops')),
    add column stale_why    text not null default '',
    add column waits_since  timestamptz,
    add column waits_layout text not null default '',
    add column questions    int not null default 0;
create index end_state_layout on end_state (program_id, waits_layout) where waits_layout <> '';

-- Those that wait are computed again by the server that brings this: nothing of their
-- numbers moves, and what the new columns hold is in no older row.
update end_state set method_version = '' where out_of_date or design_state = 'submitted';
