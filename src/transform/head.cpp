#include "transform/head.hpp"

namespace restep::transform {

using motion::LayoutKind;

bool belongs_to_the_head(std::span<motion::Step const> block) {
  bool frame = false;
  for (motion::Step const& step : block) {
    if (auto const* layout = std::get_if<motion::Layout>(&step.event)) {
      frame = layout->kind == LayoutKind::percent || layout->kind == LayoutKind::program_number ||
              layout->kind == LayoutKind::blank;
      if (!frame) return false;
    } else if (!std::holds_alternative<motion::Comment>(step.event)) {
      return false;
    }
  }
  return frame;
}

} // namespace restep::transform
