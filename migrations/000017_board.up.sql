-- What each end adds to the counts of its program, and their sums. Both are derived:
-- the door writes them with the edit that changes them, and they can be made anew.
create table end_tally (
    end_id     uuid primary key references girder_end (id),
    program_id uuid not null references program (id),
    marks      jsonb not null
);
create index end_tally_program on end_tally (program_id);

create table program_tally (
    program_id uuid not null references program (id),
    mark       text not null,
    n          bigint not null,
    primary key (program_id, mark)
) with (fillfactor = 70);
