//! What is known of a connection, whose it is and when it ends; questions, answers and notices.
