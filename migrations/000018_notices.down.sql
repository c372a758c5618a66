DROP TABLE letter;
DROP TABLE notice_choice;
