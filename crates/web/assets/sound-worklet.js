// Hands what the microphone gives on to the page, untouched, some thousand samples at a time. Runs on the audio thread.
"use strict";

const PIECE = 4096;

class Taker extends AudioWorkletProcessor {
  constructor() {
    super();
    this.piece = new Float32Array(PIECE);
    this.filled = 0;
    this.expected = -1;
    this.missed = 0;
  }

  process(inputs) {
    const channel = inputs[0][0];
    // The clock of the audio thread goes on when it was late: what it skipped is missing from the recording.
    if (this.expected >= 0 && currentFrame > this.expected) this.missed += currentFrame - this.expected;
    this.expected = currentFrame + 128;
    if (!channel) return true;
    this.expected = currentFrame + channel.length;
    let from = 0;
    while (from < channel.length) {
      const room = Math.min(PIECE - this.filled, channel.length - from);
      this.piece.set(channel.subarray(from, from + room), this.filled);
      this.filled += room;
      from += room;
      if (this.filled === PIECE) this.hand();
    }
    return true;
  }

  hand() {
    this.port.postMessage({ samples: this.piece, missed: this.missed }, [this.piece.buffer]);
    this.piece = new Float32Array(PIECE);
    this.filled = 0;
  }
}

registerProcessor("taker", Taker);
