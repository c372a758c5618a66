DROP TABLE sessions;
DROP TABLE membership;
DROP TABLE app_user;
