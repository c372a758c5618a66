drop table release_decision;
drop table step_tick;
