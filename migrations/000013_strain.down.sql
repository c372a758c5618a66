alter table logger_draft drop column end_id;
drop table strain_job;
drop table recording_found;
drop table sample_overview;
drop table sample_block;
drop table strain_verdict;
drop table strain_setup;
drop table recording;
drop table sensor;
