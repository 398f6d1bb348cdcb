//! Interlock rows and effect checks on the bare controller.
