//! The window's task pool, lent to the rules.

use crate::play::work::Workers;
use bevy::prelude::*;
use bevy::tasks::AsyncComputeTaskPool;

pub(crate) fn plugin(app: &mut App) {
    let lend = |job: Box<dyn FnOnce() + Send>| {
        AsyncComputeTaskPool::get().spawn(async move { job() }).detach();
    };
    app.insert_resource(Workers::new(lend));
}
