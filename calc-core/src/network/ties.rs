//! Which nodes hang together: finds what floats before any arithmetic does.

use super::NetworkError;
use super::builder::Network;
use super::part::{Ends, Kind, Node};

/// Sets of nodes that are tied together. The chassis is a node like any other here.
pub(super) struct Ties {
    leader: Vec<usize>,
}

impl Ties {
    pub(super) fn new(nodes: usize) -> Self {
        Self { leader: (0..=nodes).collect() }
    }

    fn place(&self, node: Node) -> usize {
        node.unwrap_or(self.leader.len() - 1)
    }

    fn find(&self, node: Node) -> usize {
        let mut at = self.place(node);
        while self.leader[at] != at {
            at = self.leader[at];
        }
        at
    }

    /// Ties two nodes together; false if they were already.
    pub(super) fn tie(&mut self, (one, other): Ends) -> bool {
        let (one, other) = (self.find(one), self.find(other));
        self.leader[one] = other;
        one != other
    }

    fn tied(&self, one: Node, other: Node) -> bool {
        self.find(one) == self.find(other)
    }
}

/// What hangs together: by paths for a steady current, and, for an alternating one, capacitors.
fn ties(network: &Network, alternating: bool) -> Ties {
    let mut ties = Ties::new(network.nodes.len());
    for part in &network.parts {
        for path in part.paths() {
            ties.tie(path);
        }
        match part.kind {
            Kind::Capacitor(ends, value) if alternating && value > 0.0 => {
                ties.tie(ends);
            }
            _ => {}
        }
    }
    ties
}

/// Whether every node is tied to the chassis.
pub(super) fn floating(network: &Network, alternating: bool) -> Result<(), NetworkError> {
    let ties = ties(network, alternating);
    let loose = (0..network.nodes.len()).find(|&node| !ties.tied(Some(node), None));
    match loose.and_then(|node| network.nodes.get(node)) {
        Some(node) => Err(NetworkError::Floating { node: node.clone() }),
        None => Ok(()),
    }
}

impl Network {
    /// The nodes whose direct voltage nothing holds: no path for a steady current leads from them to the chassis.
    #[must_use]
    pub fn adrift(&self) -> Vec<String> {
        let ties = ties(self, false);
        let adrift = self.nodes.iter().enumerate().filter(|(node, _)| !ties.tied(Some(*node), None));
        adrift.map(|(_, name)| name.clone()).collect()
    }
}
