drop trigger raw_file_stays on raw_file;
drop function file_of_document_stays();
drop table signature;
drop table document;
drop table signing_key;
drop function stays_as_it_is();
