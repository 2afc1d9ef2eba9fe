#include "text/input.hpp"

#include <algorithm>
#include <cstring>
#include <string_view>

namespace restep::text {

namespace {

constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

} // namespace

std::uint64_t LineReader::find(char end, std::uint64_t from) const {
  void const* const found = std::memchr(base_ + from, end, static_cast<std::size_t>(filled_ - from));
  return found == nullptr ? filled_ : static_cast<std::uint64_t>(static_cast<char const*>(found) - base_);
}

bool LineReader::fill_more() {
  std::uint64_t const old = filled_;
  std::uint64_t const target = std::min((old / block_size + 1) * block_size, input_->size());
  if (target == old) return false;
  if (old - at_ > longest_line)
    return input_->fail("a line is longer than any program's: is this a program?");
  if (!input_->fill_to(target)) return false;
  filled_ = target;
  base_ = input_->view(0, 0).data();
  if (lf_ == old) lf_ = find('\n', old);
  if (cr_ == old) cr_ = find('\r', old);
  return true;
}

/// False while an open pipe has too few bytes to tell.
bool LineReader::skip_byte_order_mark() {
  while (filled_ < byte_order_mark.size() && fill_more()) {
  }
  if (filled_ < byte_order_mark.size() && !input_->closed()) return false;
  if (std::string_view(base_, static_cast<std::size_t>(filled_)).substr(0, 3) == byte_order_mark) at_ = 3;
  return true;
}

std::string_view LineReader::ahead(std::uint64_t most) {
  while (filled_ - at_ < most && fill_more()) {
  }
  return {base_ + at_, static_cast<std::size_t>(std::min(most, filled_ - at_))};
}

bool LineReader::next(Line& line) {
  if (line_ == 0 && at_ == 0 && !skip_byte_order_mark()) return false;

  if (lf_ < at_) lf_ = find('\n', at_);
  if (cr_ < at_) cr_ = find('\r', at_);
  while (lf_ == filled_ && cr_ == filled_ && fill_more()) {
  }
  // A CR in the last byte at hand may be half of a CRLF.
  if (cr_ < lf_ && cr_ + 1 == filled_) fill_more();
  if (!input_->error().what.empty()) return false;

  std::uint64_t const end = std::min(lf_, cr_);
  bool const has_end = end != filled_;
  bool const undecided = !has_end || (end == cr_ && end + 1 == filled_);
  if (undecided && !input_->closed()) return false;
  if (!has_end && at_ == filled_) return false;

  line.text = {base_ + at_, static_cast<std::size_t>(end - at_)};
  line.place = {at_, static_cast<std::uint32_t>(end - at_), ++line_};
  if (!has_end) {
    line.end = LineEnd::none;
    at_ = end;
  } else if (end == lf_) {
    line.end = LineEnd::lf;
    at_ = end + 1;
  } else if (lf_ == end + 1 && lf_ != filled_) {
    line.end = LineEnd::crlf;
    at_ = end + 2;
  } else {
    line.end = LineEnd::cr;
    at_ = end + 1;
  }
  return true;
}

} // namespace restep::text
