drop table deck_core;
drop table form_check;
drop table test_stud;
