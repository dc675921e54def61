//! Long computations off the window's thread: what may be asked for, the desk that runs it, and the
//! threads that share it. Knows no window, no port and no file; what is computed is written in the
//! pure rooms below, which know no threads.

mod crew;
mod desk;
mod task;

pub use crew::{each_of, share_out, threads_here};
pub use desk::Desk;
pub use task::{BoxesTask, DwellTask, Kind, News, Task};
