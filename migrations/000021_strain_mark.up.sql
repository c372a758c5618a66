-- How far a reading of a large file came, stored with the blocks that it stored: a server that was killed goes on there.
-- No part of the record; it goes with its reading.
create table strain_mark (
    job_id  uuid primary key references strain_job (id) on delete cascade,
    row_count bigint not null check (row_count > 0),
    blocks  int not null check (blocks >= 0),
    basis   text not null,  -- sensors and settings that it was read by: with others it is read anew
    state   bytea not null,
    at      timestamptz not null
);
