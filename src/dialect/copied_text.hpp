#pragma once

#include "dialect/control.hpp"
#include "text/input.hpp"
#include "text/place.hpp"

#include <algorithm>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

namespace restep::dialect {

/// The text of the output: lines of its own, and stretches of the source as they stand. What is behind is
/// handed to the sink in pieces and given back, so that memory does not grow with the program.
class CopiedText {
public:
  /// `line_end` stands where the source has none to copy.
  CopiedText(text::Input& source, std::string_view line_end, std::function<void(std::string_view)> sink)
      : source_(source)
      , line_end_(line_end)
      , sink_(std::move(sink)) {}

  bool is_open() const { return open_; }
  /// Begins to copy at the block `first`; ends what was being copied with the block `last`.
  void open(text::Place first, text::Place last);
  /// The stretch being copied reaches to `offset`: hands on what has become large.
  void reach(std::uint64_t offset) {
    if (offset - begin_ >= piece) hand_on(offset);
  }
  /// The same where blocks that were never executed may lie between.
  void reach_far(std::uint64_t offset) {
    while (offset - begin_ >= 2 * piece)
      hand_on(begin_ + piece);
  }
  /// Ends the stretch with the block `last` and its line end. Nothing when none is open.
  void close(text::Place last);
  /// A line that is no copy. Ends the stretch with the block `last`.
  void put(std::string_view line, text::Place last);
  /// What stands before `offset` was written in other words and is not copied any more: gives back what is
  /// worth it. Nothing while a stretch is open.
  void done_before(std::uint64_t offset);
  /// Hands everything to the sink.
  void flush();

  /// The block's text, wherever the reader has got to.
  std::string text_of(text::Place place);
  /// The block's values do not hang on parameters or expressions. Looks ahead in large strides.
  bool is_literal_at(text::Place place) {
    std::uint64_t const end = place.offset + place.length;
    if (place.offset >= literal_from_ && end <= literal_to_) return true;
    return look_ahead(place);
  }
  /// The line end behind a block; empty at the end of the source.
  std::string_view line_end_behind(text::Place place);
  bool is_given_back(text::Place place) const { return place.offset < given_back_; }

private:
  static constexpr std::uint64_t piece = 256UL * 1024; // bytes handed to the sink at once

  text::Input& source_;
  std::string_view line_end_;
  std::function<void(std::string_view)> sink_;
  std::string waiting_; ///< not yet handed to the sink
  bool at_line_start_ = true;
  bool empty_ = true;

  bool open_ = false;
  std::uint64_t begin_ = 0; ///< of what is being copied and not yet handed on
  std::uint64_t given_back_ = 0;
  std::uint64_t literal_from_ = 0, literal_to_ = 0; ///< a stretch without parameters and expressions

  void append(std::string_view text);
  void hand_on(std::uint64_t end);
  void give_back(std::uint64_t offset);
  bool look_ahead(text::Place place);
};

} // namespace restep::dialect
