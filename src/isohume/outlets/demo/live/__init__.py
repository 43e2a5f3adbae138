"""Plants whose story is in their traces (invented): a bench agent's runs, made by performing the site's own actions."""
