drop table strain_mark;
