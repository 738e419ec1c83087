//! Work off the main thread, whoever lends the thread.
//!
//! The rules begin work and ask each frame whether it is done. A window lends its task pool, a test the
//! thread it runs on. Work that nobody waits for any more goes on to its end where it has begun, since it
//! cannot be stopped; [`Workers::strays`] counts it, because it can hold up what is timed.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

type Job = Box<dyn FnOnce() + Send>;

/// Threads that do work.
#[derive(Clone)]
pub struct Workers {
    lend: Arc<dyn Fn(Job) + Send + Sync>,
    strays: Arc<AtomicUsize>,
}

impl std::fmt::Debug for Workers {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Workers").field("strays", &self.strays()).finish_non_exhaustive()
    }
}

impl Workers {
    /// Workers that do each job the way of `lend`.
    pub fn new(lend: impl Fn(Box<dyn FnOnce() + Send>) + Send + Sync + 'static) -> Self {
        Self { lend: Arc::new(lend), strays: Arc::default() }
    }

    /// Workers that do each job at once, on the thread that begins it.
    #[must_use]
    pub fn at_once() -> Self {
        Self::new(|job| job())
    }

    /// Begins a piece of work.
    pub fn begin<T: Send + 'static>(&self, work: impl FnOnce() -> T + Send + 'static) -> Work<T> {
        let shared = Arc::new(Shared {
            stage: Mutex::new(Stage::Waiting),
            done: Condvar::new(),
            took_ns: AtomicU64::new(0),
            strays: self.strays.clone(),
        });
        let ours = shared.clone();
        (self.lend)(Box::new(move || ours.run(work)));
        Work { shared }
    }

    /// Pieces of work that go on although nobody waits for them.
    #[must_use]
    pub fn strays(&self) -> usize {
        self.strays.load(Ordering::Acquire)
    }
}

/// A piece of work under way, or done. What is dropped before it has begun is never done.
pub struct Work<T> {
    shared: Arc<Shared<T>>,
}

struct Shared<T> {
    stage: Mutex<Stage<T>>,
    done: Condvar,
    took_ns: AtomicU64,
    strays: Arc<AtomicUsize>,
}

enum Stage<T> {
    Waiting,
    UnderWay,
    Done(T),
    /// It panicked, with this.
    Failed(Box<dyn Any + Send>),
    /// The result was taken, or nobody waits for it.
    Over,
    /// Nobody waits for it any more, and it goes on.
    Stray,
}

impl<T> Shared<T> {
    fn stage(&self) -> MutexGuard<'_, Stage<T>> {
        // Work panics outside the lock.
        self.stage.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn run(&self, work: impl FnOnce() -> T) {
        {
            let mut stage = self.stage();
            if !matches!(*stage, Stage::Waiting) {
                return;
            }
            *stage = Stage::UnderWay;
        }
        let began = Instant::now();
        let end = match catch_unwind(AssertUnwindSafe(work)) {
            Ok(result) => Stage::Done(result),
            Err(panic) => Stage::Failed(panic),
        };
        let took_ns = u64::try_from(began.elapsed().as_nanos()).unwrap_or(u64::MAX);
        self.took_ns.store(took_ns, Ordering::Release);
        let mut stage = self.stage();
        if matches!(*stage, Stage::Stray) {
            *stage = Stage::Over;
            self.strays.fetch_sub(1, Ordering::AcqRel);
        } else {
            *stage = end;
        }
        drop(stage);
        self.done.notify_all();
    }
}

impl<T> Work<T> {
    /// The result, once it is there; only once.
    ///
    /// # Panics
    /// Where the work panicked, with its own words.
    pub fn take(&mut self) -> Option<T> {
        let mut stage = self.shared.stage();
        match std::mem::replace(&mut *stage, Stage::Over) {
            Stage::Done(result) => Some(result),
            Stage::Failed(panic) => {
                drop(stage);
                resume_unwind(panic)
            }
            other => {
                *stage = other;
                None
            }
        }
    }

    /// How long it took; nothing before its end.
    #[must_use]
    pub fn took(&self) -> Duration {
        Duration::from_nanos(self.shared.took_ns.load(Ordering::Acquire))
    }

    /// Whether it has come to its end.
    #[must_use]
    pub fn is_finished(&self) -> bool {
        !matches!(*self.shared.stage(), Stage::Waiting | Stage::UnderWay)
    }

    /// Waits for its end, so long at most.
    pub fn wait_for(&self, at_most: Duration) {
        if at_most.is_zero() {
            return;
        }
        let goes_on = |stage: &mut Stage<T>| matches!(stage, Stage::Waiting | Stage::UnderWay);
        drop(self.shared.done.wait_timeout_while(self.shared.stage(), at_most, goes_on));
    }
}

impl<T> Drop for Work<T> {
    fn drop(&mut self) {
        let mut stage = self.shared.stage();
        *stage = match std::mem::replace(&mut *stage, Stage::Over) {
            Stage::UnderWay => {
                self.shared.strays.fetch_add(1, Ordering::AcqRel);
                Stage::Stray
            }
            _ => Stage::Over,
        };
    }
}

impl<T> std::fmt::Debug for Work<T> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Work").field("is_finished", &self.is_finished()).finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc;

    fn threads() -> Workers {
        Workers::new(|job| drop(std::thread::spawn(job)))
    }

    #[test]
    fn a_result_is_there_once() {
        let mut work = Workers::at_once().begin(|| 2 + 2);
        assert!(work.is_finished());
        assert_eq!((work.take(), work.take()), (Some(4), None));
    }

    #[test]
    fn work_that_nobody_waits_for_is_counted_until_its_end() {
        let workers = threads();
        let (go, wait) = mpsc::channel::<()>();
        let (began, has_begun) = mpsc::channel();
        let work = workers.begin(move || {
            began.send(()).ok();
            wait.recv().ok();
        });
        has_begun.recv().unwrap();
        assert_eq!((work.is_finished(), workers.strays()), (false, 0));
        drop(work);
        assert_eq!(workers.strays(), 1);
        go.send(()).unwrap();
        while workers.strays() > 0 {
            std::thread::yield_now();
        }
    }

    #[test]
    fn what_is_dropped_before_it_begins_is_never_done() {
        let kept: Arc<Mutex<Vec<Job>>> = Arc::default();
        let workers = Workers::new({
            let kept = kept.clone();
            move |job| kept.lock().unwrap().push(job)
        });
        let done = Arc::new(AtomicUsize::new(0));
        let count = done.clone();
        drop(workers.begin(move || count.fetch_add(1, Ordering::AcqRel)));
        kept.lock().unwrap().drain(..).for_each(|job| job());
        assert_eq!((done.load(Ordering::Acquire), workers.strays()), (0, 0));
    }

    #[test]
    fn waiting_ends_with_the_work_or_with_patience() {
        let mut work = threads().begin(|| 7);
        work.wait_for(Duration::from_secs(60));
        assert_eq!(work.take(), Some(7));
        let (_go, wait) = mpsc::channel::<()>();
        let work = threads().begin(move || wait.recv().ok());
        work.wait_for(Duration::from_millis(5));
        assert!(!work.is_finished());
    }

    #[test]
    fn a_panic_is_passed_on_to_whoever_asks() {
        let mut work = Workers::at_once().begin(|| -> u8 { panic!("on purpose") });
        let caught = catch_unwind(AssertUnwindSafe(|| work.take())).unwrap_err();
        assert_eq!(caught.downcast_ref::<&str>(), Some(&"on purpose"));
    }
}
