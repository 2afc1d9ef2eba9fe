#pragma once

#include "transform/transform.hpp"

namespace restep::transform {

/// Lowers the feeds on inside arcs so that the tool's edge keeps, along the wall, the feed that the program
/// says; only when asked for. Moves no point and raises no feed: on an outside arc the edge goes slower than
/// the centre, and the feed stays as it is. Feeds per revolution and inverse-time feeds are lowered in kind.
///
/// An inside arc is one of a pass on which it is known where the wall stands (Motion::wall), in the XY plane.
/// Puts a remark in front of the first change (motion::centre_feeds_remark): a program that has it is left as
/// it is, so that no feed is corrected twice. Findings (notes): edge-feeds, for arcs whose wall or tool is
/// not known; inside-corners, for sharp ones, where the centre has no arc; centre-feeds.
std::unique_ptr<motion::StepSource> make_edge_feeds(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
