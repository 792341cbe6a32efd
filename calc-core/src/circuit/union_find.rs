//! Which nodes are connected: finds what floats before any arithmetic does.

use super::NetworkError;
use super::builder::Network;
use super::part::{Ends, Kind, Node};

/// Sets of nodes that are tied together. The chassis is a node like any other here.
pub(super) struct UnionFind {
    leader: Vec<usize>,
}

impl UnionFind {
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

    /// UnionFind two nodes together; false if they were already.
    pub(super) fn union(&mut self, (one, other): Ends) -> bool {
        let (one, other) = (self.find(one), self.find(other));
        self.leader[one] = other;
        one != other
    }

    fn is_connected(&self, one: Node, other: Node) -> bool {
        self.find(one) == self.find(other)
    }
}

/// Whether every node is tied to the chassis: by paths for a steady current, and, for an alternating one, capacitors.
pub(super) fn floating(network: &Network, alternating: bool) -> Result<(), NetworkError> {
    let mut sets = UnionFind::new(network.nodes.len());
    for part in &network.parts {
        for path in part.paths() {
            sets.union(path);
        }
        match part.kind {
            Kind::Capacitor(ends, value) if alternating && value > 0.0 => {
                sets.union(ends);
            }
            _ => {}
        }
    }
    let loose = (0..network.nodes.len()).find(|&node| !sets.is_connected(Some(node), None));
    match loose.and_then(|node| network.nodes.get(node)) {
        Some(node) => Err(NetworkError::Floating { node: node.clone() }),
        None => Ok(()),
    }
}
