#include "report/written_path.hpp"

#include "interpret/reader.hpp"
#include "motion/cycle.hpp"
#include "text/finding.hpp"
#include "text/input.hpp"

#include <algorithm>
#include <cmath>
#include <deque>
#include <utility>

namespace restep::report {

void SpindleWatch::see(motion::Step const& step) {
  if (auto const* speed = std::get_if<motion::SpindleSpeed>(&step.event))
    rpm_ = static_cast<float>(speed->rpm);
  if (auto const* turn = std::get_if<motion::SpindleTurn>(&step.event))
    turning_ = turn->rotation != motion::Rotation::stop;
  if (auto const* change = std::get_if<motion::ToolChange>(&step.event)) tool_ = change->tool;
}

std::vector<motion::Event> ReadPath::parts_of(motion::Cycle const& cycle) {
  return motion::expand(cycle);
}

/// Meant and read motions run in the same order, but an arc may be read as chords and a cycle as its parts:
/// a read motion belongs to the first of the waiting meant ones that ends where it ends, else to the one in
/// front.
struct WrittenPath::Implementation {
  struct Meant {
    motion::Vec3 to;
    std::uint32_t line = 0;
    bool edited = false;
  };

  /// How many meant motions wait at most while a complete output is read.
  static constexpr std::size_t most_waiting = 64;

  text::Input input;
  bool const complete;
  text::Findings findings; ///< the read-back has its own and reports them
  interpret::ProgramReader reader;
  ReadPath read;
  std::deque<Meant> waiting;

  Implementation(dialect::Dialect const& dialect, Toolpath& path, text::Input output)
      : input(std::move(output))
      , complete(input.closed())
      , reader(input, dialect.read, findings)
      , read(path) {}

  Meant matching(motion::Step const& step) {
    motion::Motion const* motion = motion::motion_of(step);
    if (waiting.empty()) return {};
    if (motion == nullptr) return waiting.front();
    constexpr std::size_t horizon = 12;
    constexpr double same_place = 0.005; // mm, some last digits
    for (std::size_t k = 0; k < std::min(horizon, waiting.size()); ++k) {
      if (!(geometry::distance(waiting[k].to, motion->to) <= same_place)) continue;
      Meant const found = waiting[k];
      waiting.erase(waiting.begin(), waiting.begin() + static_cast<std::ptrdiff_t>(k) + 1);
      return found;
    }
    return waiting.front();
  }

  /// Reads on, to where no more motions wait than these.
  void pull(std::size_t left = 0) {
    motion::Step step;
    while ((left == 0 || waiting.size() > left) && reader.next(step)) {
      Meant const meant = matching(step);
      read.see(step, meant.line, meant.edited, [&] { return input.text_of(step.place); });
      input.release_before(step.place.offset);
    }
  }
};

WrittenPath::WrittenPath(dialect::Dialect const& dialect, Toolpath& path)
    : implementation_(std::make_unique<Implementation>(dialect, path, text::Input::pipe("output"))) {}

WrittenPath::WrittenPath(dialect::Dialect const& dialect, Toolpath& path, text::Input output)
    : implementation_(std::make_unique<Implementation>(dialect, path, std::move(output))) {}

WrittenPath::~WrittenPath() = default;

void WrittenPath::meant(motion::Step const& step) {
  bool const edited = step.touched || step.other_feed || step.generated;
  if (motion::Motion const* motion = motion::motion_of(step))
    implementation_->waiting.push_back({motion->to, step.place.line, edited});
  if (auto const* cycle = std::get_if<motion::Cycle>(&step.event)) {
    motion::Vec3 end = cycle->hole;
    end[cycle->plane == motion::Plane::xy ? 2 : cycle->plane == motion::Plane::zx ? 1 : 0] = cycle->clear;
    implementation_->waiting.push_back({end, step.place.line, edited});
  }
  if (implementation_->complete) implementation_->pull(Implementation::most_waiting);
}

void WrittenPath::written(std::string_view bytes) {
  implementation_->input.append(bytes);
  implementation_->pull();
}

void WrittenPath::finish() {
  implementation_->input.close();
  implementation_->pull();
}

} // namespace restep::report
