DROP TABLE sign_on;
DROP TABLE api_token;
DROP TABLE open_session;
