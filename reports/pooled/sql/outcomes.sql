-- How the cycles with a load ended: by site, unit and program.
select site, unit, program, outcome, count(*) as n_cycles
from cycles
where purpose = 'load'
group by site, unit, program, outcome
order by site, unit, program, outcome
