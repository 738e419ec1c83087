//! What the rules know nothing of: that their data are resources of the engine.
//!
//! The rules ([`crate::play`]) do without the engine, so their types cannot derive its traits. What the
//! derive macro of `Resource` writes is written here, for all of them.

use crate::play;
use bevy::ecs::component::{
    Component, ComponentId, Mutable, RequiredComponentsRegistrator, StorageType,
};
use bevy::ecs::message::Message;
use bevy::ecs::resource::{IsResource, Resource};

macro_rules! resources {
    ($($data:ty),* $(,)?) => {
        $(
            impl Component for $data {
                const STORAGE_TYPE: StorageType = StorageType::SparseSet;
                type Mutability = Mutable;

                fn register_required_components(
                    id: ComponentId,
                    required: &mut RequiredComponentsRegistrator,
                ) {
                    required.register_required::<IsResource>(move || IsResource::new(id));
                }
            }

            impl Resource for $data {}
        )*
    };
}

resources!(
    play::bench::BenchBeingSet,
    play::clinic::ClinicForm,
    play::content::ActiveContent,
    play::course::Seat,
    play::course::SeatForm,
    play::frames::FrameTimes,
    play::lecture::Lecture,
    play::problem::Problem,
    play::records::Records,
    play::round::Exercising,
    play::session::Session,
    play::smiles::Preparation,
    play::start::PendingStart,
    play::start::SessionOptions,
    play::view::DebriefView,
    play::work::Workers,
);

impl Message for play::intents::Intent {}
