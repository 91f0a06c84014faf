"""Simulated practices whose truth is known, against which estimate, forecast and second opinion are held."""
