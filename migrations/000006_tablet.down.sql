drop table tablet_piece;
drop table tablet_upload;
drop table tablet_entry;
drop function tablet_entry_is_kept();
alter table inspection drop constraint inspection_subject_check;
alter table inspection add constraint inspection_subject_check check (subject in ('curing', 'hardened', 'gauges', 'load_path'));
alter table inspection drop constraint inspection_outcome_check;
alter table inspection add constraint inspection_outcome_check check (outcome in ('accepted', 'not_accepted', 'engaged', 'not_engaged', 'undecided'));
