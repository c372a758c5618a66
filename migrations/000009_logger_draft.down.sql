drop table logger_draft_piece;
drop table logger_draft;
