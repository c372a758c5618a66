drop table program_tally;
drop table end_tally;
