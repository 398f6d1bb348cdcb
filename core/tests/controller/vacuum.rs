//! Recovery, evacuation and the leak check on the bare controller.
