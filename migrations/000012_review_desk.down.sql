drop index end_state_layout;
alter table end_state drop column stale, drop column stale_why, drop column waits_since, drop column waits_layout, drop column questions;
drop table review_answer;
drop table review_question;
drop table review_note;
alter table review drop column stands_on;
