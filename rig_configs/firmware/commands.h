// What the host says: looked at, obeyed or refused with a reason.
#pragma once

namespace commands {

// Takes what was heard, one command at the most, and only while there is room for its answer.
void turn();

}  // namespace commands
