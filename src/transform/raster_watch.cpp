#include "transform/raster_watch.hpp"

#include <algorithm>
#include <limits>
#include <utility>

namespace restep::transform {

namespace {

// Errors of a surface are not asked for here; any digit serves.
constexpr double any_digit = 0.001;
constexpr std::size_t least_lead = 2048;

} // namespace

RasterWatch::RasterWatch(motion::Machine const& machine)
    : machine_(machine)
    , finder_(*this, {}) {}

void RasterWatch::add(motion::Step const& step, cutter::Tool const* tool, int tool_number) {
  if (!finder_.goes_on()) begin(tool, tool_number);
  if (motion::Motion const* m = motion::motion_of(step)) {
    if (time_)
      time_->add(step);
    else
      lead_.push_back({*m, place_++, step.place.line});
  }
  finder_.add(step, step.place.line);
  if (lead_size() > lead_limit_) trim_lead();
}

void RasterWatch::add(motion::Stretch const& cuts, cutter::Tool const* tool, int tool_number) {
  cuts_ = &cuts;
  growing_ = false;
  for (std::size_t i = 0; i < cuts.size; ++i) {
    if (!finder_.goes_on()) begin(tool, tool_number);
    // The time is taken when somebody asks for it, of many cuts at once.
    if (time_) {
      if (untimed_ == 0) first_untimed_ = i;
      ++untimed_;
    } else {
      keep_cut(cuts, i);
    }
    finder_.add(cuts, i);
    if (lead_size() > lead_limit_) trim_lead();
  }
  take_time();
  cuts_ = nullptr;
}

void RasterWatch::keep_cut(motion::Stretch const& cuts, std::size_t i) {
  if (!growing_) cut_lead_.push_back({motion::ColumnsHold(*cuts.columns), cuts.part(i, 0), place_});
  growing_ = true;
  ++cut_lead_.back().cuts.size;
  ++cut_lead_size_;
  ++place_;
}

void RasterWatch::take_time() {
  if (time_ && untimed_ > 0) time_->add(cuts_->part(first_untimed_, untimed_));
  untimed_ = 0;
}

void RasterWatch::begin(cutter::Tool const* tool, int tool_number) {
  clear_lead();
  finder_.set_max_stepover(tool != nullptr ? std::max(tool->diameter, 1.0)
                                           : finish::RasterLimits{}.max_stepover);
  tool_ = tool;
  tool_number_ = tool_number;
}

// Candidates come and go without a break where lines are cut that are no pass.
void RasterWatch::trim_lead() {
  if (!finder_.goes_on()) {
    clear_lead();
  } else {
    std::uint32_t const line = first_line();
    std::erase_if(lead_, [&](Lead const& lead) { return lead.line < line; });
    while (!cut_lead_.empty() && cut_lead_.front().cuts.last_place().line < line) {
      cut_lead_size_ -= cut_lead_.front().cuts.size;
      cut_lead_.pop_front();
    }
    growing_ = growing_ && !cut_lead_.empty();
  }
  lead_limit_ = std::max(least_lead, 2 * lead_size());
}

void RasterWatch::clear_lead() {
  lead_.clear();
  cut_lead_.clear();
  cut_lead_size_ = 0;
  growing_ = false;
}

// The time of what has led here, from the first line of the pass on, in the order in which it came.
void RasterWatch::time_lead() {
  auto other = lead_.begin();
  auto const time_others = [&](std::size_t before) {
    for (; other != lead_.end() && other->place < before; ++other)
      if (other->line >= first_line_) time_->add(other->motion);
  };
  for (CutLead const& lead : cut_lead_)
    for (std::size_t i = 0; i < lead.cuts.size; ++i) {
      time_others(lead.place + i);
      if (lead.cuts.places()[i].line >= first_line_) time_->add(lead.cuts.cut(i));
    }
  time_others(std::numeric_limits<std::size_t>::max());
  clear_lead();
}

void RasterWatch::line(finish::RasterFrame const& frame, finish::RasterLine line) {
  if (!meter_) {
    meter_.emplace(tool_ != nullptr && tool_->can_finish() ? tool_ : nullptr);
    first_line_ = static_cast<std::uint32_t>(line.pieces.front().first_step());
    odd_ = false;
    time_.emplace(machine_);
    time_lead();
  }
  last_line_ = static_cast<std::uint32_t>(line.pieces.back().last_step());
  take_time();
  seconds_ = time_->seconds();
  // The frame has turned by what the digits left open since the line was read.
  line.v = frame.own(geometry::xy(line.pieces.front().points.front())).y;
  if (auto row = finish::row_of(line, frame, any_digit))
    meter_->add(std::move(*row));
  else
    odd_ = true;
}

void RasterWatch::end(finish::RasterFrame const& frame) {
  meter_->finish();
  if (!odd_ && finish::is_parallel_pass(*meter_, tool_)) {
    finish::PassReport report;
    report.first_line = first_line_;
    report.last_line = last_line_;
    report.tool = std::max(tool_number_, 0);
    if (tool_ != nullptr) report.tool_text = cutter::describe(*tool_);
    report.shape = finish::parallel_pass;
    finish::report_raster(report, frame, *meter_);
    report.before.time_s = seconds_;
    report.after = report.before;
    ended_.push_back(std::move(report));
  }
  meter_.reset();
  time_.reset();
  untimed_ = 0;
}

std::vector<finish::PassReport> RasterWatch::take() {
  return std::exchange(ended_, {});
}

} // namespace restep::transform
