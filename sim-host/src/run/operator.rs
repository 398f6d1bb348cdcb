//! The operator of a scenario: answers questions, and acts at a time, at the start of a phase, or on a notice.

use std::collections::VecDeque;

use valvewright_core::job::WorkOrder;
use valvewright_core::order::Task;
use valvewright_core::talk::{Asked, Command, Question};
use valvewright_core::token::{Part, Typed};

use crate::scenario::model::{Act, Answers, Operator as Plan, PlannedAct, Trigger};

/// What the operator does at one tick, beside giving a command.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hand {
    /// Emergency stop pressed or released.
    Stop(bool),
    /// Service door open or shut.
    Door(bool),
    /// Couplers on or off the vehicle.
    Coupled(bool),
    /// Couplers shut by hand.
    ShutCouplers,
    /// Nitrogen let in at the vehicle, until the test pressure stands.
    FillNitrogen,
    /// The nitrogen bottle shut.
    ShutNitrogen,
    /// What the circuit holds let out at the vehicle, until it stands at the barometer.
    Release,
    /// That way out shut.
    ShutRelease,
    /// High-side coupler shut, vehicle's own compressor started.
    VehicleCompressor,
    /// Reference weight put on the platform or taken off.
    Weight(bool),
    /// Test gas led to AT-2 or taken away.
    TestGas(bool),
    /// PSH-1 put under a hand pump's pressure, or eased.
    PumpUp(bool),
    /// Another vessel put in the place of this one.
    ChangeVessel,
}

/// The operator at work.
#[derive(Debug, Clone)]
pub struct Operator {
    plan: Plan,
    done: Vec<bool>,
    order: Option<Command>,
    due: VecDeque<(f64, Deed)>,
    /// Part and code that were typed last.
    typed: Option<(Part, Typed)>,
    /// The question that was heard last: what a press answers, whether it is still open or not.
    asked: Option<Asked>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Deed {
    Act(Act),
    Answer(Asked),
    /// The part and its code are typed.
    Exchange(Part, Typed),
    /// The order is given.
    Order,
}

impl Deed {
    fn of(planned: &PlannedAct) -> Self {
        planned.exchange.map_or(Self::Act(planned.act), |(part, code)| Self::Exchange(part, code))
    }
}

/// What a task of upkeep moves that the plant or an instrument has.
const fn by_hand(task: Task) -> Option<Hand> {
    match task {
        Task::ParkCouplers | Task::ShutCylinder | Task::ShutMixed => Some(Hand::ShutCouplers),
        Task::PutWeight => Some(Hand::Weight(true)),
        Task::TakeWeight => Some(Hand::Weight(false)),
        Task::GiveTestGas => Some(Hand::TestGas(true)),
        Task::TakeTestGas => Some(Hand::TestGas(false)),
        Task::PumpUpSwitch => Some(Hand::PumpUp(true)),
        Task::EaseSwitch => Some(Hand::PumpUp(false)),
        Task::ChangeVessel => Some(Hand::ChangeVessel),
        Task::ChangeDrier
        | Task::ChangePumpOil
        | Task::FreePlatform
        | Task::ChangeSampleFilter
        | Task::ChangeReliefValve
        | Task::AcceptLoss
        | Task::HangCylinder => None,
    }
}

/// What a question asks is done by hand, and said to be.
fn done_as_asked(asked: Asked, hands: &mut Vec<Hand>) -> Command {
    match asked.question {
        Question::ShutCouplers => hands.push(Hand::ShutCouplers),
        Question::RunVehicleCompressor | Question::DrawIn => hands.push(Hand::VehicleCompressor),
        Question::FillNitrogen => hands.push(Hand::FillNitrogen),
        Question::ReleaseByHand => hands.push(Hand::Release),
        Question::Purge | Question::SampleFilterClean | Question::CircuitOpened | Question::UnusualCharge => {}
        Question::Task(task) => hands.extend(by_hand(task)),
    }
    Command::Confirm(asked.number)
}

impl Operator {
    /// An operator who gives `order` under this id, at once or when the plan says. All times count from now.
    pub fn new(plan: &Plan, id: u16, order: WorkOrder) -> Self {
        let mut me = Self {
            plan: plan.clone(),
            done: vec![false; plan.acts.len()],
            due: VecDeque::new(),
            order: Some(Command::Start { id, order }),
            typed: None,
            asked: None,
        };
        me.plan_deed(plan.begins, Deed::Order);
        for at in 0..me.plan.acts.len() {
            if let Trigger::At(t) = me.plan.acts[at].when {
                me.plan_deed(t + me.plan.acts[at].after, Deed::of(&me.plan.acts[at]));
                me.done[at] = true;
            }
        }
        me
    }

    /// Part and code that were typed last.
    pub(super) const fn typed(&self) -> Option<(Part, Typed)> {
        self.typed
    }

    /// Number of the question that was heard last; 0 is no question's.
    fn number(&self) -> u16 {
        self.asked.map_or(0, |asked| asked.number)
    }

    fn plan_deed(&mut self, at: f64, deed: Deed) {
        let place = self.due.partition_point(|(t, _)| *t <= at);
        self.due.insert(place, (at, deed));
    }

    /// The order has ended and the vehicle goes. What was still to be answered or done at its couplers is not done any more; what is
    /// planned at the panel, the door and the stop is.
    pub fn vehicle_leaves(&mut self) {
        let at_couplers = |act: Act| matches!(act, Act::Couple | Act::Uncouple);
        self.due.retain(|(_, deed)| match deed {
            Deed::Act(act) => !at_couplers(*act),
            Deed::Exchange(..) => true,
            Deed::Answer(_) | Deed::Order => false,
        });
        for (done, one) in self.done.iter_mut().zip(&self.plan.acts) {
            *done |= at_couplers(one.act);
        }
        self.plan.answers = Answers::None;
    }

    /// Hears a notice id at `t`.
    pub fn hear(&mut self, t: f64, id: &str, asked: Option<Asked>) {
        self.asked = asked.or(self.asked);
        let mut planned = false;
        for at in 0..self.plan.acts.len() {
            let one = &self.plan.acts[at];
            if !self.done[at] && matches!(&one.when, Trigger::Notice(wanted) if wanted == id) {
                planned |= matches!(one.act, Act::Confirm | Act::Decline | Act::DoAsAsked);
                let (due, deed) = (t + one.after, Deed::of(one));
                self.done[at] = true;
                self.plan_deed(due, deed);
            }
        }
        if let (Some(asked), false, false) = (asked, planned, self.plan.answers == Answers::None) {
            self.plan_deed(t + self.plan.delay, Deed::Answer(asked));
        }
    }

    /// Sees a phase begin at `t`.
    pub fn phase_begins(&mut self, t: f64, name: &str) {
        for at in 0..self.plan.acts.len() {
            let one = &self.plan.acts[at];
            if !self.done[at] && matches!(&one.when, Trigger::PhaseStart(phase) if phase.name() == name) {
                let (due, deed) = (t + one.after, Deed::of(one));
                self.done[at] = true;
                self.plan_deed(due, deed);
            }
        }
    }

    /// What is done at this tick: at most one command, and any number of things by hand.
    pub fn act(&mut self, t: f64, hands: &mut Vec<Hand>) -> Option<Command> {
        while self.due.front().is_some_and(|(due, _)| *due <= t) {
            let (_, deed) = self.due.pop_front()?;
            let command = match deed {
                Deed::Answer(asked) => Some(self.answer(asked, hands)),
                Deed::Act(Act::DoAsAsked) => self.asked.map(|asked| done_as_asked(asked, hands)),
                Deed::Act(act) => self.carry_out(act, hands),
                Deed::Exchange(part, code) => {
                    self.typed = Some((part, code));
                    Some(Command::Exchanged { part, code })
                }
                Deed::Order => self.order.take(),
            };
            if command.is_some() {
                return command;
            }
        }
        None
    }

    fn answer(&self, asked: Asked, hands: &mut Vec<Hand>) -> Command {
        if self.plan.answers == Answers::Decline {
            return Command::Decline(asked.number);
        }
        done_as_asked(asked, hands)
    }

    /// One act is planned for this time from now on, s since the order's job began: as if it had stood in the plan.
    pub(super) fn plan_act(&mut self, at: f64, act: Act) {
        self.plan_deed(at, Deed::Act(act));
    }

    /// The same of a part that was exchanged and the code that is typed for it.
    pub(super) fn plan_exchange(&mut self, at: f64, part: Part, code: Typed) {
        self.plan_deed(at, Deed::Exchange(part, code));
    }

    fn carry_out(&self, act: Act, hands: &mut Vec<Hand>) -> Option<Command> {
        match act {
            Act::Confirm => return Some(Command::Confirm(self.number())),
            Act::Decline => return Some(Command::Decline(self.number())),
            Act::Pause => return Some(Command::Pause),
            Act::Resume => return Some(Command::Resume),
            Act::Abort => return Some(Command::Abort),
            Act::Reset => return Some(Command::Reset),
            Act::EmergencyStop => hands.push(Hand::Stop(true)),
            Act::ReleaseStop => hands.push(Hand::Stop(false)),
            Act::OpenDoor => hands.push(Hand::Door(true)),
            Act::ShutDoor => hands.push(Hand::Door(false)),
            Act::Uncouple => hands.push(Hand::Coupled(false)),
            Act::Couple => hands.push(Hand::Coupled(true)),
            // Planned with its part and code; with the question.
            Act::Exchange | Act::DoAsAsked => {}
        }
        None
    }
}
